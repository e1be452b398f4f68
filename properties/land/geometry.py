"""Geometry that can be trusted: GeoJSON geometry (RFC 7946) in, validated shapely out, and back.

Positions are kept to 6 decimals of a degree, about 0.1 m; more is noise.
"""

import re
from collections.abc import Collection, Mapping
from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from shapely.geometry import mapping, shape
from shapely.geometry.base import BaseGeometry

from properties.land.geodesy import LocalFrame, frame_around
from properties.land.limits import ImportLimits
from properties.land.positions import NESTING, InvalidGeometry, place, read_positions

__all__ = [
    "InvalidGeometry",
    "check_inside",
    "check_no_crs",
    "outside_by_m",
    "parse_geometry",
    "to_geojson",
]

DECIMALS = 6
_GRID_DEG = 10.0**-DECIMALS
_STEP_OUTSIDE_M = 5.0
_MOST_STEPS_OUTSIDE = 2_000
# The one name of a coordinate system that says nothing new: longitude, latitude on WGS 84.
_WGS84_LON_LAT = re.compile(r"^urn:ogc:def:crs:OGC:(1\.3)?:CRS84$", re.IGNORECASE)
_REASON = re.compile(r"^(?P<what>[^\[]+)\[(?P<x>\S+) (?P<y>\S+)\]$")
_IN_WORDS = {
    "Self-intersection": "crosses itself",
    "Ring Self-intersection": "touches itself",
    "Hole lies outside shell": "has a hole outside its boundary",
    "Holes are nested": "has a hole inside a hole",
    "Interior is disconnected": "is cut in two by its holes",
    "Nested shells": "has one part inside another",
    "Duplicate Rings": "holds the same ring twice",
    "Too few points in geometry component": "has too few different positions",
}


def parse_geometry(
    value: Any,
    *,
    pointer: str = "",
    feature: str | None = None,
    shapes: Collection[str] | None = None,
    within: BaseGeometry | None = None,
    limits: ImportLimits | None = None,
) -> BaseGeometry:
    """A GeoJSON geometry object as a valid, two-dimensional shapely geometry.

    ``shapes`` are the geometry types allowed (all but GeometryCollection when None);
    ``within`` is the property's area, which the geometry must not leave by more than
    ``limits.outside_tolerance_m``. Rings of either direction are accepted and turned
    right. Raises :class:`InvalidGeometry`, which names ``feature``, the place and the
    reason.
    """
    limits = limits or ImportLimits()
    try:
        geometry = _parse(value, pointer, shapes, limits)
        if within is not None:
            check_inside(geometry, within, pointer=pointer, tolerance_m=limits.outside_tolerance_m)
    except InvalidGeometry as problem:
        if problem.feature or not feature:
            raise
        raise InvalidGeometry(problem.pointer, problem.detail, feature=feature) from problem
    return geometry


def to_geojson(geometry: BaseGeometry, *, height_m: float | None = None) -> dict[str, Any]:
    """The geometry as RFC 7946 wants it: outside rings counterclockwise, 6 decimals.

    ``height_m`` is written as a point's third number and ignored for other shapes.
    """
    written = mapping(shapely.orient_polygons(shapely.force_2d(geometry)))
    coordinates = _rounded(written["coordinates"])
    if height_m is not None and geometry.geom_type == "Point":
        coordinates.append(height_m)
    return {"type": written["type"], "coordinates": coordinates}


def check_inside(
    geometry: BaseGeometry, area: BaseGeometry, *, pointer: str = "", tolerance_m: float
) -> None:
    """Raise :class:`InvalidGeometry` where ``geometry`` leaves ``area``, saying by how far.

    Where it would lie inside with longitude and latitude exchanged, that is said instead.
    """
    outside = outside_by_m(geometry, area)
    if outside <= tolerance_m:
        return
    if _fits_when_swapped(geometry, area, tolerance_m):
        raise InvalidGeometry(
            pointer,
            "lies inside the property only with its numbers exchanged: longitude comes "
            "first, so longitude and latitude seem to be swapped",
        )
    how_far = f"{outside / 1000:,.0f} km" if outside >= 10_000 else f"{outside:,.0f} m"
    raise InvalidGeometry(pointer, f"reaches {how_far} outside the property's boundary")


def outside_by_m(geometry: BaseGeometry, area: BaseGeometry) -> float:
    """How far in metres the farthest part of ``geometry`` lies outside ``area``; 0 inside."""
    if area.covers(geometry):
        return 0.0
    frame, area_in_metres = _in_metres(area)
    outside = frame.geometry_to_metres(geometry).difference(area_in_metres)
    if outside.is_empty:
        return 0.0
    # A line may leave and come back between its corners: look along it too.
    step_m = max(_STEP_OUTSIDE_M, outside.length / _MOST_STEPS_OUTSIDE)
    along = shapely.points(shapely.get_coordinates(shapely.segmentize(outside, step_m)))
    return float(np.max(shapely.distance(along, area_in_metres)))


def check_no_crs(value: Mapping[str, Any], *, pointer: str = "") -> None:
    """Refuse a ``crs`` member, which RFC 7946 took away, unless it names plain WGS 84 lon/lat."""
    if "crs" not in value:
        return
    crs = value["crs"]
    properties = crs.get("properties") if isinstance(crs, Mapping) else None
    name = properties.get("name") if isinstance(properties, Mapping) else None
    if isinstance(name, str) and _WGS84_LON_LAT.match(name):
        return
    stated = f" ({name[:80]})" if isinstance(name, str) else ""
    raise InvalidGeometry(
        f"{pointer}/crs",
        f"names a coordinate system of its own{stated}; save it again as longitude and "
        "latitude on WGS 84, without a crs member",
    )


def _parse(
    value: Any, pointer: str, shapes: Collection[str] | None, limits: ImportLimits
) -> BaseGeometry:
    if not isinstance(value, Mapping):
        raise InvalidGeometry(pointer, "must be a geometry object with type and coordinates")
    check_no_crs(value, pointer=pointer)
    kind = _kind(value, pointer, shapes)
    if "coordinates" not in value:
        raise InvalidGeometry(pointer, "has no coordinates")
    where = f"{pointer}/coordinates"
    nested = read_positions(
        kind, value["coordinates"], pointer=where, max_vertices=limits.max_vertices
    )
    geometry = shape({"type": kind, "coordinates": nested})
    _check_valid(geometry, where)
    return _on_grid(geometry, where)


def _kind(value: Mapping[str, Any], pointer: str, shapes: Collection[str] | None) -> str:
    kind = value.get("type")
    if kind == "GeometryCollection":
        raise InvalidGeometry(pointer, "is a GeometryCollection; save each part as its own feature")
    if not isinstance(kind, str) or kind not in NESTING:
        raise InvalidGeometry(f"{pointer}/type", f"must be one of {', '.join(NESTING)}")
    if shapes is not None and kind not in shapes:
        raise InvalidGeometry(
            f"{pointer}/type", f"is a {kind}; {' or '.join(sorted(shapes))} is needed here"
        )
    return kind


def _check_valid(geometry: BaseGeometry, pointer: str) -> None:
    if geometry.is_valid:
        return
    reason = shapely.is_valid_reason(geometry)
    match = _REASON.match(reason)
    if match is None:
        raise InvalidGeometry(pointer, f"is not a valid shape ({reason})")
    what = _IN_WORDS.get(match["what"], f"is not a valid shape ({match['what']})")
    raise InvalidGeometry(pointer, f"{what} at {place(float(match['x']), float(match['y']))}")


def _on_grid(geometry: BaseGeometry, pointer: str) -> BaseGeometry:
    """The geometry with 6 decimals and its rings turned right, still valid."""
    rounded = shapely.transform(geometry, lambda vertices: np.round(vertices, DECIMALS) + 0.0)
    if not rounded.is_valid:
        # Details finer than the grid may cross once rounded: let the library tidy them.
        tidied = shapely.set_precision(geometry, _GRID_DEG)
        rounded = shapely.transform(tidied, lambda vertices: np.round(vertices, DECIMALS) + 0.0)
    if rounded.is_empty or not rounded.is_valid or rounded.geom_type != geometry.geom_type:
        raise InvalidGeometry(pointer, "is smaller than what 6 decimals can hold (0.1 m)")
    return shapely.orient_polygons(rounded)


@lru_cache(maxsize=8)
def _in_metres(area: BaseGeometry) -> tuple[LocalFrame, BaseGeometry]:
    """The area in a frame of its own; kept, since one file's places share one property."""
    frame = frame_around(area)
    return frame, frame.geometry_to_metres(area)


def _fits_when_swapped(geometry: BaseGeometry, area: BaseGeometry, tolerance_m: float) -> bool:
    swapped = shapely.transform(geometry, lambda vertices: vertices[:, ::-1])
    if np.any(np.abs(shapely.get_coordinates(swapped)[:, 1]) > 90):
        return False
    return outside_by_m(swapped, area) <= tolerance_m


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, DECIMALS) + 0.0
    return [_rounded(item) for item in value]
