"""Text that every database keeps: PostgreSQL has no NUL, UTF-8 no half surrogate pair."""

import re
from typing import Any

_UNSTORABLE = re.compile("[\0\ud800-\udfff]")


def is_storable(text: str) -> bool:
    """Whether no NUL and no half surrogate pair stands in a text."""
    return _UNSTORABLE.search(text) is None


def is_storable_json(value: Any) -> bool:
    """Whether every text and every name in a value of JSON is storable, however deep it nests."""
    left = [value]
    while left:
        each = left.pop()
        if isinstance(each, dict):
            left += [*each, *each.values()]
        elif isinstance(each, list):
            left += each
        elif isinstance(each, str) and not is_storable(each):
            return False
    return True
