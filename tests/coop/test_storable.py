"""Which values of JSON every database keeps."""

import json

import pytest

from coop.storable import is_storable_json


@pytest.mark.parametrize(
    ("written", "is_kept"),
    [
        ('{"a": ["Oak", 1, null, true, 1.5]}', True),
        ('"\\\\u0000 written out"', True),
        ('"\\ud83e\\udd8c"', True),
        ('"a\\u0000"', False),
        ('"\\ud83e"', False),
        ('{"a": [{"b": ["\\udd8c"]}]}', False),
        ('{"a": {"b\\u0000": 1}}', False),
    ],
)
def test_no_nul_and_no_half_surrogate_pair_is_kept_in_any_text_or_name(written, is_kept):
    assert is_storable_json(json.loads(written)) is is_kept


def test_a_nesting_beyond_the_interpreters_stack_is_looked_through_to_its_end():
    deep = "a\0"
    for _level in range(100_000):
        deep = [deep]
    assert not is_storable_json(deep)
