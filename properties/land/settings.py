"""Settings in layers: cooperative, then property, then stand.

Each room declares its settings as one frozen dataclass whose fields are made with
:func:`setting`; its app registers the class under a group name. What is stored is
only what somebody changed, as ``{"group": {"name": value}}``; :func:`resolve` lays the
layers over the defaults.
"""

import dataclasses
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from coop.pointers import step
from coop.storable import is_storable

Group = TypeVar("Group")
LARGEST = 2**53
"""Whole numbers up to here are the same in every reader of JSON (RFC 8259, section 6: IEEE 754
binary64)."""


class InvalidSetting(ValueError):
    """A stored or submitted setting that no room could use.

    ``pointer`` names the place as ``group/name``, further steps within the value after it (RFC
    6901); ``detail`` says what is wrong.
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


def faults(
    changes: Any, *, stored: Mapping[str, Mapping[str, Any]] | None = None
) -> list[InvalidSetting]:
    """Everything wrong with a change of a layer, in its order: unknown groups and names, wrong
    types, values outside their bounds.

    A null is right for what is known, and for what stands in ``stored`` though nobody knows it
    any more.
    """
    if not isinstance(changes, Mapping):
        return [InvalidSetting("", "must be an object of groups")]
    standing = stored or {}
    return [
        fault
        for group_name, values in changes.items()
        for fault in _faults_of_group(group_name, values, standing.get(group_name))
    ]


def laid_over(
    stored: Mapping[str, Mapping[str, Any]], changes: Mapping[str, Mapping[str, Any] | None]
) -> dict[str, dict[str, Any]]:
    """A stored layer with a faultless change laid over it.

    That is a JSON Merge Patch (RFC 7396) down to group and name: null takes a value or a whole
    group out, a value that is an object is replaced whole.
    """
    layer = {name: dict(values) for name, values in stored.items()}
    for name, values in changes.items():
        both = layer.pop(name, {}) | dict(values) if values is not None else {}
        kept = {key: value for key, value in both.items() if value is not None}
        if kept:
            layer[name] = kept
        else:
            layer.pop(name, None)
    return layer


def resolve(group: type[Group], *layers: Mapping[str, Any], group_name: str | None = None) -> Group:
    """The settings of ``group`` with each layer laid over the one before.

    ``layers`` are stored mappings ``{"group": {...}}`` from the widest (cooperative) to
    the narrowest (stand). Raises :class:`InvalidSetting` for the first of its :func:`faults`.
    """
    name = group_name or _name_of(group)
    merged: dict[str, Any] = {}
    for layer in layers:
        merged.update(layer.get(name, {}))
    fields = {field.name: field for field in dataclasses.fields(group)}  # type: ignore[arg-type]
    defaults = group()
    for key, value in merged.items():
        if key not in fields:
            raise InvalidSetting(f"{name}/{step(key)}", "unknown setting")
        merged[key] = _checked(f"{name}/{key}", fields[key], getattr(defaults, key), value)
    return group(**merged)


def _faults_of_group(
    group_name: str, values: Any, standing: Mapping[str, Any] | None
) -> Iterator[InvalidSetting]:
    pointer = step(group_name)
    if group_name not in _groups:
        if values is not None or standing is None:
            yield InvalidSetting(pointer, _unknown_group(group_name))
        return
    if values is None:
        return
    if not isinstance(values, Mapping):
        yield InvalidSetting(pointer, "must be an object of names and values")
        return
    group = _groups[group_name]
    known = {field.name for field in dataclasses.fields(group)}
    for name, value in values.items():
        if value is None:
            if name not in known and name not in (standing or {}):
                yield InvalidSetting(f"{pointer}/{step(name)}", "unknown setting")
            continue
        # A group's own check looks at one setting at a time, so each is asked about alone.
        try:
            resolve(group, {group_name: {name: value}}, group_name=group_name)
        except InvalidSetting as fault:
            yield fault


def check_weekdays(pointer: str, weekdays: Iterable[int]) -> None:
    """Raise :class:`InvalidSetting` for what is no ISO weekday (1 Monday to 7 Sunday)."""
    if not set(weekdays) <= set(range(1, 8)):
        raise InvalidSetting(pointer, "must be numbers from 1 to 7")


def _unknown_group(group_name: str) -> str:
    group, _slash, name = group_name.partition("/")
    if group in _groups and name:
        return f'settings are nested: {{"{group}": {{"{name}": ...}}}}'
    return f"unknown group; known: {', '.join(sorted(_groups))}"


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
            _text(pointer, name): _like(f"{pointer}/{step(name)}", within, each)
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
