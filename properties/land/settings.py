"""Settings in layers: cooperative, then property, then stand.

Each room declares its settings as one frozen dataclass whose fields are made with
:func:`setting`; its app registers the class under a group name. What is stored is
only what somebody changed, as ``{"group": {"name": value}}``; :func:`resolve` lays the
layers over the defaults.
"""

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from coop.storable import is_storable

Group = TypeVar("Group")
LARGEST = 2**53
"""Whole numbers up to here are the same in every reader of JSON (RFC 8259, section 6: IEEE 754
binary64)."""


class InvalidSetting(ValueError):
    """A stored or submitted setting that no room could use.

    ``pointer`` names the place as ``group/name``; ``detail`` says what is wrong.
    """

    def __init__(self, pointer: str, detail: str) -> None:
        super().__init__(f"{pointer}: {detail}" if pointer else detail)
        self.pointer = pointer
        self.detail = detail


def setting(
    default: Any,
    *,
    description: str,
    unit: str | None = None,
    minimum: float | None = None,
    maximum: float | None = None,
) -> Any:
    """A dataclass field that carries what a person needs to change it."""
    metadata = {
        "description": description,
        "unit": unit,
        "minimum": minimum,
        "maximum": maximum,
    }
    if isinstance(default, dict | list):
        return dataclasses.field(default_factory=lambda: default.copy(), metadata=metadata)
    return dataclasses.field(default=default, metadata=metadata)


@dataclass(frozen=True, kw_only=True)
class SettingDescription:
    """One setting as shown to people: where it stands, its default, unit and bounds."""

    group: str
    name: str
    default: Any
    unit: str | None
    minimum: float | None
    maximum: float | None
    description: str


_groups: dict[str, type] = {}


def register_group(name: str, group: type) -> None:
    """Make ``group`` known under ``name``; called once by each app when it is ready."""
    _groups[name] = group


def registered_groups() -> dict[str, type]:
    return dict(_groups)


def describe() -> Iterator[SettingDescription]:
    """Every registered setting, by group and then in the order of declaration."""
    for group_name in sorted(_groups):
        defaults = _groups[group_name]()
        for field in dataclasses.fields(_groups[group_name]):
            yield SettingDescription(
                group=group_name,
                name=field.name,
                default=getattr(defaults, field.name),
                unit=field.metadata.get("unit"),
                minimum=field.metadata.get("minimum"),
                maximum=field.metadata.get("maximum"),
                description=field.metadata.get("description", ""),
            )


def validate(stored: Mapping[str, Mapping[str, Any]]) -> None:
    """Check a stored layer against the registered groups.

    Raises :class:`InvalidSetting` for an unknown group or name, a wrong type, or a
    value outside its bounds.
    """
    if not isinstance(stored, Mapping):
        raise InvalidSetting("", "must be an object of groups")
    for group_name, values in stored.items():
        if group_name not in _groups:
            raise InvalidSetting(group_name, f"unknown group; known: {', '.join(sorted(_groups))}")
        if not isinstance(values, Mapping):
            raise InvalidSetting(group_name, "must be an object of names and values")
        resolve(_groups[group_name], {group_name: values}, group_name=group_name)


def resolve(group: type[Group], *layers: Mapping[str, Any], group_name: str | None = None) -> Group:
    """The settings of ``group`` with each layer laid over the one before.

    ``layers`` are stored mappings ``{"group": {...}}`` from the widest (cooperative) to
    the narrowest (stand). Raises :class:`InvalidSetting` as :func:`validate` does.
    """
    name = group_name or _name_of(group)
    merged: dict[str, Any] = {}
    for layer in layers:
        merged.update(layer.get(name, {}))
    fields = {field.name: field for field in dataclasses.fields(group)}  # type: ignore[arg-type]
    defaults = group()
    for key, value in merged.items():
        if key not in fields:
            raise InvalidSetting(f"{name}/{key}", "unknown setting")
        merged[key] = _checked(f"{name}/{key}", fields[key], getattr(defaults, key), value)
    return group(**merged)


def _name_of(group: type) -> str:
    for name, registered in _groups.items():
        if registered is group:
            return name
    raise LookupError(f"{group.__name__} is not a registered settings group")


def _checked(pointer: str, field: Any, default: Any, value: Any) -> Any:
    if isinstance(default, bool):
        if not isinstance(value, bool):
            raise InvalidSetting(pointer, "must be true or false")
        return value
    if isinstance(default, int | float):
        return _checked_number(pointer, field, default, value)
    return _like(pointer, default, value)


def _like(pointer: str, example: Any, value: Any) -> Any:
    """``value`` where it has the shape of ``example``: what is within is like the first within.

    Whatever is within an empty example is text or a number.
    """
    if isinstance(example, tuple):
        if not isinstance(value, list | tuple):
            raise InvalidSetting(pointer, "must be a list")
        within = example[0] if example else None
        return tuple(_like(f"{pointer}/{at}", within, each) for at, each in enumerate(value))
    if isinstance(example, Mapping):
        if not isinstance(value, Mapping):
            raise InvalidSetting(pointer, "must be an object")
        within = next(iter(example.values()), None)
        return {
            _text(pointer, name): _like(f"{pointer}/{name}", within, each)
            for name, each in value.items()
        }
    if isinstance(example, str) or (example is None and isinstance(value, str)):
        return _text(pointer, value)
    return _number(pointer, value)


def _text(pointer: str, value: Any) -> str:
    if not isinstance(value, str):
        raise InvalidSetting(pointer, "must be a text")
    if not is_storable(value):
        raise InvalidSetting(pointer, "a text cannot hold a NUL or half a surrogate pair")
    return value


def _number(pointer: str, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InvalidSetting(pointer, "must be a number")
    if not -LARGEST <= value <= LARGEST:
        raise InvalidSetting(pointer, f"must lie between -{LARGEST} and {LARGEST}")
    return value


def _checked_number(pointer: str, field: Any, default: float, value: Any) -> float:
    value = _number(pointer, value)
    if isinstance(default, int) and value != int(value):
        raise InvalidSetting(pointer, "must be a whole number")
    minimum, maximum = field.metadata.get("minimum"), field.metadata.get("maximum")
    if minimum is not None and value < minimum:
        raise InvalidSetting(pointer, f"must be at least {minimum}")
    if maximum is not None and value > maximum:
        raise InvalidSetting(pointer, f"must be at most {maximum}")
    return type(default)(value)
