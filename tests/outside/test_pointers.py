"""Names as steps of a pointer: the examples of RFC 6901, section 5, and their way back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.pointers import step


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("foo", "foo"),
        ("", ""),
        ("a/b", "a~1b"),
        ("c%d", "c%d"),
        ("e^f", "e^f"),
        ("g|h", "g|h"),
        ("i\\j", "i\\j"),
        ('k"l', 'k"l'),
        (" ", " "),
        ("m~n", "m~0n"),
    ],
)
def test_a_name_is_written_as_the_standard_shows(name, written):
    assert step(name) == written


@given(st.text(alphabet="~/01a"))
def test_no_two_names_are_written_alike_and_none_as_two_steps(name):
    written = step(name)
    assert "/" not in written
    # Section 4: first ~1, then ~0.
    assert written.replace("~1", "/").replace("~0", "~") == name
