"""The parts of a gridpoint forecast document, each checked before it is believed.

The document comes from outside: its size, its nesting, every type, every unit and every time
span is looked at here, and what is wrong is named by its JSON pointer.
"""

import math
import re
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any, NamedTuple

import orjson

from properties.land.years import can_be_meant

MAX_DOCUMENT_BYTES = 5_000_000
MAX_SPAN = timedelta(days=31)

_DURATION = re.compile(
    r"P(?:(?P<weeks>\d{1,2})W)?(?:(?P<days>\d{1,3})D)?"
    r"(?:T(?:(?P<hours>\d{1,4})H)?(?:(?P<minutes>\d{1,5})M)?)?"
)
_OFFICE = re.compile(r"[A-Z]{3}")
_LARGEST_GRID_INDEX = 9999
_BEYOND_ANY_LAYER = 1e9

Conversion = Callable[[float], float]


class UnreadableForecast(ValueError):
    """The document is not a gridpoint forecast, or a broken one.

    ``pointer`` is the JSON pointer of the place at fault, '' for the whole document.
    """

    def __init__(self, pointer: str, detail: str) -> None:
        super().__init__(f"{pointer or 'document'}: {detail}")
        self.pointer = pointer
        self.detail = detail


class GridCell(NamedTuple):
    """A cell of the forecast grid: the issuing office and the cell's place in its grid."""

    office: str
    x: int
    y: int


class Interval(NamedTuple):
    """A value that holds from ``start`` up to, not including, ``end``; nan where it is null."""

    start: datetime
    end: datetime
    value: float


def _times(factor: float) -> Conversion:
    return lambda value: value * factor


SPEED_UNITS: Mapping[str, Conversion] = {
    "km_h-1": _times(1 / 3.6),
    "m_s-1": _times(1.0),
    "kt": _times(1.852 / 3.6),
    "kn": _times(1.852 / 3.6),
    "mi_h-1": _times(0.44704),
    "mph": _times(0.44704),
}
ANGLE_UNITS: Mapping[str, Conversion] = {
    "degree_(angle)": _times(1.0),
    "deg": _times(1.0),
}
TEMPERATURE_UNITS: Mapping[str, Conversion] = {
    "degC": _times(1.0),
    "degF": lambda value: (value - 32) / 1.8,
    "K": lambda value: value - 273.15,
}
SHARE_UNITS: Mapping[str, Conversion] = {"percent": lambda value: value / 100}
DEPTH_UNITS: Mapping[str, Conversion] = {
    "mm": _times(1.0),
    "cm": _times(10.0),
    "m": _times(1000.0),
    "in": _times(25.4),
    "kg_m-2": _times(1.0),  # a kilogram of water on a square metre stands 1 mm high
}


def read_json_object(
    document: bytes | Mapping[str, Any], *, max_bytes: int = MAX_DOCUMENT_BYTES
) -> Mapping[str, Any]:
    """The JSON object in ``document``; raises :class:`UnreadableForecast` for anything else."""
    if isinstance(document, Mapping):
        return document
    if len(document) > max_bytes:
        raise UnreadableForecast("", f"{len(document)} bytes, more than the {max_bytes} allowed")
    try:
        parsed = orjson.loads(document.removeprefix(b"\xef\xbb\xbf"))
    except orjson.JSONDecodeError as error:  # nesting too deep is reported the same way
        raise UnreadableForecast("", f"not readable as JSON: {error}") from error
    if not isinstance(parsed, dict):
        raise UnreadableForecast("", "must be a JSON object")
    return parsed


def problem_text(answer: Mapping[str, Any]) -> str | None:
    """Title and detail of a problem document (RFC 9457), ``None`` if it is not one."""
    title, detail = answer.get("title"), answer.get("detail")
    parts = [part for part in (title, detail) if isinstance(part, str) and part]
    return ": ".join(parts) if parts and "properties" not in answer else None


def forecast_properties(answer: Mapping[str, Any]) -> Mapping[str, Any]:
    """The ``properties`` of a gridpoint answer.

    Raises :class:`UnreadableForecast` saying which other answer of the service this is.
    """
    if problem := problem_text(answer):
        raise UnreadableForecast("", f"the service answered with a problem: {problem}")
    properties = answer.get("properties")
    if not isinstance(properties, Mapping):
        raise UnreadableForecast("/properties", "missing, or not an object")
    if "periods" in properties:
        raise UnreadableForecast(
            "/properties/periods",
            "this is the text forecast, too coarse for wind; the gridpoint forecast is needed",
        )
    if "forecastGridData" in properties:
        raise UnreadableForecast(
            "/properties/forecastGridData",
            "this answer only tells where the forecast is; fetch the address it gives here",
        )
    for name in ("windDirection", "windSpeed"):
        if name not in properties:
            raise UnreadableForecast(f"/properties/{name}", "missing: not a gridpoint forecast")
    return properties


def read_grid_cell(properties: Mapping[str, Any]) -> GridCell:
    """The cell named by ``gridId``, ``gridX``, ``gridY`` (whole numbers, in old answers text)."""
    office = properties.get("gridId")
    if not isinstance(office, str) or not _OFFICE.fullmatch(office):
        raise UnreadableForecast("/properties/gridId", "must be three capital letters")
    return GridCell(office, _grid_index(properties, "gridX"), _grid_index(properties, "gridY"))


def _grid_index(properties: Mapping[str, Any], name: str) -> int:
    value = properties.get(name)
    if isinstance(value, str) and value.isascii() and value.isdigit() and len(value) <= 4:
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int):
        raise UnreadableForecast(f"/properties/{name}", "must be a whole number")
    if not 0 <= value <= _LARGEST_GRID_INDEX:
        raise UnreadableForecast(f"/properties/{name}", f"{value} lies outside any grid")
    return value


def read_layer(
    properties: Mapping[str, Any], name: str, units: Mapping[str, Conversion]
) -> tuple[Interval, ...]:
    """The intervals of layer ``name``, converted; empty where the layer is absent or empty.

    Raises :class:`UnreadableForecast` for an unknown unit, a wrong type or a bad time span.
    """
    layer = properties.get(name)
    pointer = f"/properties/{name}"
    if layer is None:
        return ()
    if not isinstance(layer, Mapping):
        raise UnreadableForecast(pointer, "must be an object")
    values = layer.get("values", [])
    if not isinstance(values, list):
        raise UnreadableForecast(f"{pointer}/values", "must be a list")
    if not values:
        return ()
    convert = _conversion(layer, pointer, units)
    return tuple(
        _interval(entry, f"{pointer}/values/{index}", convert) for index, entry in enumerate(values)
    )


def _conversion(
    layer: Mapping[str, Any], pointer: str, units: Mapping[str, Conversion]
) -> Conversion:
    key = "uom" if "uom" in layer else "unitCode"
    unit = layer.get(key)
    if not isinstance(unit, str):
        raise UnreadableForecast(f"{pointer}/uom", "the layer's unit is missing")
    # Written wmoUnit:km_h-1 today, unit:km_h-1 before, and as a full address by some.
    name = re.split(r"[:/]", unit)[-1]
    if name not in units:
        raise UnreadableForecast(
            f"{pointer}/{key}", f"unknown unit {unit!r}; known: {', '.join(units)}"
        )
    return units[name]


def _interval(entry: Any, pointer: str, convert: Conversion) -> Interval:
    if not isinstance(entry, Mapping):
        raise UnreadableForecast(pointer, "must be an object")
    start, end = read_time_span(entry.get("validTime"), f"{pointer}/validTime")
    value = entry.get("value")
    if value is None:
        return Interval(start, end, math.nan)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise UnreadableForecast(f"{pointer}/value", "must be a number or null")
    if not abs(value) < _BEYOND_ANY_LAYER:
        raise UnreadableForecast(f"{pointer}/value", "too large to be meant")
    return Interval(start, end, convert(value))


def read_time_span(text: Any, pointer: str) -> tuple[datetime, datetime]:
    """Start and end (UTC) of an ISO 8601 ``start/duration``.

    Durations in weeks, days, hours and minutes; months and years have no fixed length.
    """
    if not isinstance(text, str) or text.count("/") != 1:
        raise UnreadableForecast(pointer, "must be written start/duration")
    start_text, duration_text = text.split("/")
    start = read_instant(start_text, pointer)
    found = _DURATION.fullmatch(duration_text)
    parts = ("weeks", "days", "hours", "minutes")
    amounts = {part: int(found[part] or 0) for part in parts} if found else {}
    duration = timedelta(**amounts)
    if duration <= timedelta(0):
        raise UnreadableForecast(pointer, f"unusable duration {duration_text[:40]!r}")
    if duration > MAX_SPAN:
        raise UnreadableForecast(pointer, f"longer than {MAX_SPAN.days} days")
    return start, start + duration


def read_instant(text: Any, pointer: str) -> datetime:
    """An ISO 8601 instant with offset, in UTC."""
    try:
        written = datetime.fromisoformat(text)
        instant = None if written.utcoffset() is None else written.astimezone(UTC)
    except (TypeError, ValueError, OverflowError) as error:
        raise UnreadableForecast(pointer, "not a time in ISO 8601") from error
    if instant is None:
        raise UnreadableForecast(pointer, "the time has no offset")
    if not can_be_meant(instant.year):
        raise UnreadableForecast(pointer, f"the year {instant.year} cannot be meant")
    return instant
