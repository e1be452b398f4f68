"""Instants that come in say their offset, and have a day in every time zone: none near the
calendar's ends."""

import re
from collections.abc import Iterator
from datetime import MAXYEAR, MINYEAR, UTC, datetime
from typing import Any

from coop.api.problems import InvalidInput
from coop.pointers import step

OFFSET_NEEDED = "Write a time as RFC 3339 does, with its offset: 2025-11-08T06:03:00-06:00."

_FIRST_YEAR, _LAST_YEAR = MINYEAR + 1, MAXYEAR - 1
# Beyond RFC 3339 seconds may be left out, and the colon of the offset.
_WITH_OFFSET = re.compile(
    r"\d{4}-\d\d-\d\d[Tt]\d\d:\d\d(?::\d\d(?:\.\d+)?)?(?:Z|[+-]\d\d:?\d\d)", re.ASCII
)


def says_offset(text: str) -> bool:
    """Whether a text has the form of a time with an offset, however fine its seconds are told."""
    return _WITH_OFFSET.fullmatch(text) is not None


def as_of_record(stored: str) -> str:
    """An instant as stored in ISO 8601, told as one of a record: RFC 3339 in UTC, with ``Z``."""
    told = datetime.fromisoformat(stored).astimezone(UTC).isoformat()
    return f"{told.removesuffix('+00:00')}Z"


def has_days_everywhere(instant: datetime) -> bool:
    """Whether every calendar shows a date at ``instant``, and on the days beside it."""
    return _FIRST_YEAR <= instant.year <= _LAST_YEAR


def refuse_far_instants(values: Any) -> None:
    """Raise :class:`InvalidInput` with a pointer to each instant in what was read, however deep,
    that some time zone has no date for."""
    far = list(_far(values, "#"))
    if far:
        detail = f"Must lie in the years {_FIRST_YEAR} to {_LAST_YEAR}."
        raise InvalidInput(
            f"{', '.join(far)}: {detail}",
            errors=[{"pointer": pointer, "detail": detail, "code": "invalid"} for pointer in far],
        )


def _far(values: Any, pointer: str) -> Iterator[str]:
    if isinstance(values, datetime):
        if not has_days_everywhere(values):
            yield pointer
    elif isinstance(values, dict):
        for name, value in values.items():
            yield from _far(value, f"{pointer}/{step(str(name))}")
    elif isinstance(values, list):
        for index, value in enumerate(values):
            yield from _far(value, f"{pointer}/{index}")
