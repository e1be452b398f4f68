"""The settings that a page rests on, said in words: what each is called, its value, its unit."""

import dataclasses
from collections.abc import Iterable, Mapping
from typing import Any

from django.utils.translation import gettext as _

from properties.land.settings import registered_groups
from properties.land.units import Quantity, UnitSystem, show

# Units stand behind the value, so a name need not end in them as well.
_UNIT_ENDINGS = (
    "_minutes",
    "_hours",
    "_days",
    "_percent",
    "_nights",
    "_mps",
    "_deg",
    "_min",
    "_mm",
    "_h",
    "_m",
)
_UNIT_WORDS = {"d": "days", "day": "days", "h": "hours", "min": "minutes", "local hour": "o'clock"}
_QUANTITIES = {"m/s": Quantity.SPEED, "mm": Quantity.RAIN}
# Shorter lengths are told in feet, not in yards. Common practice, no source.
_LEAST_YARDS_M = 10


def settings_groups(
    used: Mapping[str, Any], *, system: UnitSystem = UnitSystem.METRIC
) -> list[dict[str, Any]]:
    """The settings used, by group: ``{"group", "values": [{"name", "value"}]}``, all as words.

    ``used`` is as figures keep it, so it may name what no room knows any more; that has no unit.
    Speeds, lengths and rain are told in the units of ``system``.
    """
    return [
        {
            "group": _spaced(group),
            "values": [_in_words(group, name, value, system) for name, value in values.items()],
        }
        for group, values in used.items()
        if isinstance(values, Mapping)  # a list of curves is for programs, in the figures
    ]


def _in_words(group: str, name: str, value: Any, system: UnitSystem) -> dict[str, str]:
    unit = _unit_of(group, name)
    if not unit:
        return {"name": _spaced(name), "value": value_words(value)}
    ending = next((end for end in _UNIT_ENDINGS if name.endswith(end)), "")
    return {"name": _spaced(name.removesuffix(ending)), "value": _measured(value, unit, system)}


def _measured(value: Any, unit: str, system: UnitSystem) -> str:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if system is UnitSystem.US and is_number and unit in _QUANTITIES:
        return show(value, _QUANTITIES[unit], system, decimals=1 if unit == "m/s" else None).text
    if system is UnitSystem.US and is_number and unit == "m":
        if abs(value) >= _LEAST_YARDS_M:
            return show(value, Quantity.DISTANCE, system).text
        return show(value, Quantity.HEIGHT, system, decimals=1).text
    space = "" if unit in ("%", "°") else " "
    return f"{value_words(value)}{space}{_UNIT_WORDS.get(unit, unit)}"


def _unit_of(group: str, name: str) -> str:
    known = registered_groups().get(group)
    if known is None:
        return ""
    fields = {field.name: field for field in dataclasses.fields(known)}
    return (fields[name].metadata.get("unit") or "") if name in fields else ""


def value_words(value: Any) -> str:
    """A setting's value as somebody would say it: yes, 30, none, ``deer (also doe, buck)``."""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, Mapping):
        entries = [_entry_words(str(key), inner) for key, inner in value.items()]
        return "; ".join(entries) or _("none")
    if isinstance(value, list | tuple):
        return _listed(value) or _("none")
    return _spaced(str(value)) or _("none")


def _entry_words(key: str, inner: Any) -> str:
    if isinstance(inner, list | tuple):
        if not inner:
            return key
        return _("%(what)s (also %(names)s)") % {"what": key, "names": _listed(inner)}
    return f"{_spaced(key)} {value_words(inner)}"


def _listed(items: Iterable[Any]) -> str:
    return ", ".join(value_words(item) if item != "" else _("unnamed") for item in items)


def _spaced(name: str) -> str:
    return name.replace("_", " ")
