"""Where a stand and its routes may lie: pure checks on GeoJSON in, GeoJSON out."""

from dataclasses import dataclass
from typing import Any

from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from properties.land.geodesy import distance_m
from properties.land.geometry import parse_geometry, to_geojson
from properties.land.limits import ImportLimits
from properties.land.positions import InvalidGeometry
from properties.stands.settings import StandSettings


@dataclass(frozen=True, kw_only=True)
class Ground:
    """The property's area in longitude and latitude, and its settings for stands."""

    area: BaseGeometry
    settings: StandSettings


def stand_position(geometry: Any, *, name: str, ground: Ground) -> Point:
    """The stand's place from a GeoJSON Point; raises :class:`InvalidGeometry`."""
    point = parse_geometry(
        geometry,
        feature=name,
        shapes=frozenset({"Point"}),
        within=ground.area,
        limits=ImportLimits(outside_tolerance_m=ground.settings.outside_tolerance_m),
    )
    return Point(point.coords[0])


def approach_route(geometry: Any, *, name: str, stand: Point, ground: Ground) -> dict[str, Any]:
    """A LineString walked to the stand; raises :class:`InvalidGeometry`."""
    line = _line(geometry, name, ground)
    _check_end(line.coords[-1], line.coords[0], stand, name, "end at", ground)
    return to_geojson(line)


def exit_route(geometry: Any, *, name: str, stand: Point, ground: Ground) -> dict[str, Any]:
    """A LineString walked from the stand; raises :class:`InvalidGeometry`."""
    line = _line(geometry, name, ground)
    _check_end(line.coords[0], line.coords[-1], stand, name, "begin at", ground)
    return to_geojson(line)


def _line(geometry: Any, name: str, ground: Ground) -> BaseGeometry:
    return parse_geometry(
        geometry,
        feature=name,
        shapes=frozenset({"LineString"}),
        within=ground.area,
        limits=ImportLimits(outside_tolerance_m=ground.settings.route_outside_m),
    )


def _check_end(
    near: tuple[float, ...],
    far: tuple[float, ...],
    stand: Point,
    name: str,
    verb: str,
    ground: Ground,
) -> None:
    """Routes are kept in the order walked, since the hour at each point depends on it."""
    away_m, other_m = _metres(near, stand), _metres(far, stand)
    if away_m <= ground.settings.route_end_m:
        return
    turned = "; it seems to be drawn the other way round" if other_m < away_m else ""
    raise InvalidGeometry(
        "", f"must {verb} the stand, and is {away_m:,.0f} m away from it{turned}", feature=name
    )


def _metres(position: tuple[float, ...], stand: Point) -> float:
    return float(distance_m(position[0], position[1], stand.x, stand.y))
