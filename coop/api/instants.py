"""Instants that come in have a day in every time zone: none near the calendar's ends."""

from collections.abc import Iterator
from datetime import MAXYEAR, MINYEAR, datetime
from typing import Any

from coop.api.problems import InvalidInput
from coop.pointers import step

_FIRST_YEAR, _LAST_YEAR = MINYEAR + 1, MAXYEAR - 1


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
