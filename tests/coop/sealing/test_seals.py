"""Sealed texts: opened where they belong with any of the server's keys, and nowhere else."""

from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.sealing.seals import CannotOpen, seal, unseal

OWNER = uuid4()


@given(st.text(max_size=200))
def test_what_is_sealed_opens_as_it_was(text):
    assert unseal(
        seal(text, purpose="gate code", owner=OWNER), purpose="gate code", owner=OWNER
    ) == (text)


def test_the_same_text_is_never_sealed_alike_and_never_legible():
    first = seal("4711-open", purpose="gate code", owner=OWNER)
    second = seal("4711-open", purpose="gate code", owner=OWNER)
    assert first != second
    assert b"4711" not in first


@pytest.mark.parametrize(("purpose", "owner"), [("gate code", uuid4()), ("medical note", OWNER)])
def test_moved_to_another_row_or_purpose_it_does_not_open(purpose, owner):
    sealed = seal("4711", purpose="gate code", owner=OWNER)
    with pytest.raises(CannotOpen):
        unseal(sealed, purpose=purpose, owner=owner)


@pytest.mark.parametrize("place", [0, 1, 12, 13, -1])
def test_one_changed_byte_keeps_it_shut(place):
    sealed = bytearray(seal("4711", purpose="gate code", owner=OWNER))
    sealed[place] ^= 1
    with pytest.raises(CannotOpen):
        unseal(bytes(sealed), purpose="gate code", owner=OWNER)


@pytest.mark.parametrize("broken", [b"", b"\x01", b"\x01" + b"0" * 12, b"\x01" + b"0" * 20])
def test_what_was_cut_off_does_not_open(broken):
    with pytest.raises(CannotOpen):
        unseal(broken, purpose="gate code", owner=OWNER)


def test_a_key_is_replaced_by_putting_the_new_one_first(settings):
    settings.SEALING_KEYS = ["old"]
    earlier = seal("4711", purpose="gate code", owner=OWNER)
    settings.SEALING_KEYS = ["new", "old"]
    later = seal("4712", purpose="gate code", owner=OWNER)
    assert unseal(earlier, purpose="gate code", owner=OWNER) == "4711"
    settings.SEALING_KEYS = ["new"]
    assert unseal(later, purpose="gate code", owner=OWNER) == "4712"
    with pytest.raises(CannotOpen):
        unseal(earlier, purpose="gate code", owner=OWNER)
