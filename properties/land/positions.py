"""The positions of a GeoJSON geometry, checked one by one before any geometry is built.

What is wrong is said where it is wrong: every error carries a JSON pointer (RFC 6901).
"""

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

Position = tuple[float, float]

# How many arrays lie around a position, by geometry type (RFC 7946, section 3.1).
NESTING = {
    "Point": 0,
    "MultiPoint": 1,
    "LineString": 1,
    "MultiLineString": 2,
    "Polygon": 2,
    "MultiPolygon": 3,
}

_MAX_NUMBERS = 3
_MIN_RING = 4
# No longitude or latitude comes near this; a projected coordinate in metres nearly always does.
_SURELY_NOT_DEGREES = 360.0


class InvalidGeometry(ValueError):
    """A geometry that cannot be used.

    ``pointer`` is the place (a JSON pointer, or an element path such as ``/wpt[3]``),
    ``detail`` a sentence for a person, ``feature`` the name of the feature where known.
    """

    def __init__(self, pointer: str, detail: str, *, feature: str | None = None) -> None:
        named = f"“{feature}”: {detail}" if feature else detail
        super().__init__(f"{pointer}: {named}" if pointer else named)
        self.pointer = pointer
        self.detail = detail
        self.feature = feature


def read_positions(kind: str, coordinates: Any, *, pointer: str, max_vertices: int) -> Any:
    """The coordinates of a geometry of type ``kind``, as nested lists of (lon, lat).

    Heights are checked and left out. Raises :class:`InvalidGeometry` for a wrong nesting,
    an empty or too short array, an unclosed ring, a number that is no finite longitude or
    latitude, too many positions, or a line that jumps across the antimeridian.
    """
    budget = iter(range(max_vertices))
    nested = _read(coordinates, NESTING[kind], pointer, budget)
    for line, place in _lines(kind, nested, pointer):
        _check_line(line, place, is_ring=kind in ("Polygon", "MultiPolygon"))
    return nested


def read_height_m(position: Any) -> float | None:
    """The third number of a position already checked, in metres."""
    return float(position[2]) if len(position) == _MAX_NUMBERS else None


def _read(value: Any, depth: int, pointer: str, budget: Iterator[int]) -> Any:
    if depth == 0:
        if next(budget, None) is None:
            raise InvalidGeometry(pointer, "the geometry holds too many positions")
        return _position(value, pointer)
    if not isinstance(value, list | tuple):
        raise InvalidGeometry(pointer, f"must be an array, {depth} deep around each position")
    if not value:
        raise InvalidGeometry(pointer, "is empty")
    return [
        _read(item, depth - 1, f"{pointer}/{index}", budget) for index, item in enumerate(value)
    ]


def _position(value: Any, pointer: str) -> Position:
    if not isinstance(value, list | tuple):
        raise InvalidGeometry(pointer, "must be a position: [longitude, latitude]")
    if any(isinstance(number, list | tuple) for number in value):
        raise InvalidGeometry(pointer, "is nested too deep: numbers are expected here")
    if len(value) < 2:
        raise InvalidGeometry(pointer, "needs two numbers: longitude, then latitude")
    if len(value) > _MAX_NUMBERS:
        raise InvalidGeometry(
            pointer, f"holds {len(value)} numbers; longitude, latitude and height are the most"
        )
    numbers = [_finite(number, f"{pointer}/{index}") for index, number in enumerate(value)]
    lon, lat = numbers[0], numbers[1]
    _check_range(lon, lat, pointer)
    return lon, lat


def _finite(value: Any, pointer: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InvalidGeometry(pointer, "must be a number")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise InvalidGeometry(pointer, "must be a finite number")
    return number


def _check_range(lon: float, lat: float, pointer: str) -> None:
    if abs(lon) <= 180 and abs(lat) <= 90:
        return
    if abs(lon) > _SURELY_NOT_DEGREES or abs(lat) > _SURELY_NOT_DEGREES:
        raise InvalidGeometry(
            pointer,
            f"({lon:g}, {lat:g}) looks like projected metres; longitude and latitude in "
            "degrees on WGS 84 are needed",
        )
    if abs(lon) <= 90 and abs(lat) <= 180:
        raise InvalidGeometry(
            pointer,
            f"latitude {lat:g} lies beyond ±90; longitude comes first, so the two numbers "
            "seem to be swapped",
        )
    if abs(lat) > 90:
        raise InvalidGeometry(pointer, f"latitude {lat:g} lies beyond ±90")
    raise InvalidGeometry(
        pointer,
        f"longitude {lon:g} lies beyond ±180; cut a geometry that crosses the antimeridian "
        "into parts",
    )


def _lines(kind: str, nested: Any, pointer: str) -> Iterator[tuple[list[Position], str]]:
    """Every line and ring of a geometry, with its place."""
    if kind == "LineString":
        yield nested, pointer
    elif kind in ("MultiLineString", "Polygon"):
        for index, line in enumerate(nested):
            yield line, f"{pointer}/{index}"
    elif kind == "MultiPolygon":
        for number, polygon in enumerate(nested):
            for index, ring in enumerate(polygon):
                yield ring, f"{pointer}/{number}/{index}"


def _check_line(line: list[Position], pointer: str, *, is_ring: bool) -> None:
    if is_ring and len(line) < _MIN_RING:
        raise InvalidGeometry(
            pointer, f"a ring needs at least {_MIN_RING} positions; it has {len(line)}"
        )
    if is_ring and line[0] != line[-1]:
        raise InvalidGeometry(
            pointer,
            f"the ring is not closed: it begins at {place(*line[0])} and ends at "
            f"{place(*line[-1])}",
        )
    if len(line) < 2:
        raise InvalidGeometry(pointer, "a line needs at least 2 positions; it has 1")
    if len(set(line)) == 1:
        raise InvalidGeometry(pointer, f"all its positions are one point, {place(*line[0])}")
    for (before, _), (after, _) in pairwise(line):
        if abs(after - before) > 180:
            raise InvalidGeometry(
                pointer,
                f"jumps from longitude {before:g} to {after:g}: it crosses the antimeridian; "
                "cut it there into parts",
            )


def place(lon: float, lat: float) -> str:
    """A position in words, as people say it: latitude first, both named."""
    return f"latitude {lat:.6f}, longitude {lon:.6f}"
