"""The kinds of dated value that a property keeps of its state's rules, and what each must hold.

No figure of any state is built in: a value is what somebody read and entered.
"""

from collections.abc import Callable, Mapping
from datetime import date
from enum import StrEnum
from typing import Any

from properties.leases.uses import CameraUse


class RegulationKind(StrEnum):
    WEEKLY_CLOSED_DAYS = "weekly_closed_days"
    ORANGE = "orange"
    SCENTS = "scents"
    FEED = "feed"
    MINERALS = "minerals"
    CAMERAS = "cameras"
    PICTURE_DELAY = "picture_delay"
    DISEASE_AREA = "disease_area"
    SHOOTING_LIGHT = "shooting_light"


class OrangeWhen(StrEnum):
    """When hunter orange is worn: while any season for firearms is open, always, or never."""

    FIREARM_SEASON = "firearm_season"
    ALWAYS = "always"
    NOT_REQUIRED = "not_required"


class InvalidValue(ValueError):
    """A value that does not suit its kind; ``field`` names what is wrong in it."""

    def __init__(self, field: str, detail: str) -> None:
        super().__init__(f"{field}: {detail}")
        self.field = field
        self.detail = detail


LONGEST_DELAY_H = 8_760
LIGHT_MIN = (-120, 60)
LONGEST_TEXT = 500
Check = Callable[[Any], bool]


def _is_flag(value: Any) -> bool:
    return isinstance(value, bool)


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and len(value) <= LONGEST_TEXT


def _is_said(value: Any) -> bool:
    return _is_text(value) and bool(value.strip())


def _is_number(value: Any, low: float, high: float) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high


def _is_light(value: Any) -> bool:
    return _is_number(value, *LIGHT_MIN)


def _is_delay(value: Any) -> bool:
    return _is_number(value, 0, LONGEST_DELAY_H)


def _is_weekdays(value: Any) -> bool:
    known = isinstance(value, list) and all(
        isinstance(day, int) and not isinstance(day, bool) and 1 <= day <= 7 for day in value
    )
    return known and 0 < len(set(value)) == len(value)


def _is_names(value: Any) -> bool:
    return isinstance(value, list) and all(
        isinstance(name, str) and 0 < len(name.strip()) <= 60 for name in value
    )


def _is_date(value: Any) -> bool:
    try:
        return isinstance(value, str) and bool(date.fromisoformat(value))
    except ValueError:
        return False


_NEEDED: Mapping[RegulationKind, Mapping[str, Check]] = {
    RegulationKind.WEEKLY_CLOSED_DAYS: {"weekdays": _is_weekdays},
    RegulationKind.ORANGE: {"when": lambda value: value in set(OrangeWhen)},
    RegulationKind.SCENTS: {"names": _is_names},
    RegulationKind.FEED: {"permitted": _is_flag},
    RegulationKind.MINERALS: {"permitted": _is_flag},
    RegulationKind.CAMERAS: {"cameras": lambda value: value in set(CameraUse)},
    RegulationKind.PICTURE_DELAY: {"hours": _is_delay},
    RegulationKind.DISEASE_AREA: {"area": _is_said},
    RegulationKind.SHOOTING_LIGHT: {"before_sunrise_min": _is_light, "after_sunset_min": _is_light},
}
_POSSIBLE: Mapping[RegulationKind, Mapping[str, Check]] = {
    RegulationKind.ORANGE: {"what": _is_text},
    RegulationKind.DISEASE_AREA: {
        "sampling_first_on": _is_date,
        "sampling_last_on": _is_date,
        "sampling": _is_text,
        "carcass_transport": _is_text,
    },
}


def check_value(kind: RegulationKind, value: Mapping[str, Any]) -> None:
    """Raise :class:`InvalidValue` unless the value holds what its kind needs, and nothing else."""
    needed, possible = _NEEDED[kind], _POSSIBLE.get(kind, {})
    for name in needed.keys() - value.keys():
        raise InvalidValue(name, f"Is needed for {kind}.")
    for name, given in value.items():
        check = needed.get(name) or possible.get(name)
        if check is None:
            raise InvalidValue(name, f"Does not belong to {kind}.")
        if not check(given):
            raise InvalidValue(name, f"Is no {name} that can be used.")
    first, last = value.get("sampling_first_on"), value.get("sampling_last_on")
    if (first is None) != (last is None):
        raise InvalidValue("sampling_last_on", "Give both dates of sampling, or none.")
    if first is not None and last is not None and first > last:
        raise InvalidValue("sampling_last_on", "Must not lie before sampling_first_on.")
