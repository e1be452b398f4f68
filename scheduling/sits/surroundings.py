"""What lies around a stand, as distance and bearings: hazards, lines, and other stands.

Distances are metres on WGS 84, bearings degrees true. Each stand is the origin of its own
flat frame, in which distance and bearing from it are exact.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from properties.land.geodesy import FloatArray, LocalFrame, bearing_deg, distance_m
from scheduling.rules.facts import HazardFacts, HazardKind

_ALMOST_FULL_DEG = 359.999
_CUT_DEG = 1.0


@dataclass(frozen=True, kw_only=True)
class MappedHazard:
    """Something a shooting arc must keep clear of; ``geometry`` in longitude and latitude."""

    kind: HazardKind
    name: str
    geometry: BaseGeometry
    has_backstop: bool = False


@dataclass(frozen=True, kw_only=True)
class StandPoint:
    """A stand's place and shooting arc; equal bearings mean the full circle."""

    stand_id: str
    longitude: float
    latitude: float
    arc_from_deg: float
    arc_to_deg: float

    @property
    def shoots_all_round(self) -> bool:
        return self.arc_from_deg == self.arc_to_deg


def hazards_around(stand: StandPoint, mapped: Sequence[MappedHazard]) -> tuple[HazardFacts, ...]:
    """Distance, bearings and nearest point in the arc of everything mapped.

    ``nearest_in_arc_m`` is infinite where nothing of it lies in the arc.
    """
    return tuple(_hazard_around(stand, hazard) for hazard in mapped)


@dataclass(frozen=True, kw_only=True)
class InArc:
    """One stand in the shooting arc of another, at a distance."""

    shooter_id: str
    other_id: str
    distance_m: float


def stands_in_arcs(
    stands: Sequence[StandPoint], farthest_m: Mapping[str, float]
) -> Iterator[InArc]:
    """Each stand that lies in another's arc, nearer than the shooter's ``farthest_m``, by id."""
    if len(stands) < 2:
        return
    measured = directions(stands)
    apart, bearing = measured.distance_m, measured.bearing_deg
    arc_from = np.array([stand.arc_from_deg for stand in stands])[:, None]
    arc_to = np.array([stand.arc_to_deg for stand in stands])[:, None]
    all_round = np.array([stand.shoots_all_round for stand in stands])[:, None]
    # Two stands in one place have no bearing between them, and endanger each other.
    in_arc = all_round | np.isnan(bearing)
    in_arc |= (bearing - arc_from) % 360 <= (arc_to - arc_from) % 360
    reach = np.array([farthest_m[stand.stand_id] for stand in stands])[:, None]
    within = in_arc & (apart < reach)
    np.fill_diagonal(within, val=False)
    for one, other in np.argwhere(within):
        yield InArc(
            shooter_id=stands[one].stand_id,
            other_id=stands[other].stand_id,
            distance_m=float(apart[one, other]),
        )


@lru_cache(maxsize=20_000)
def _hazard_around(stand: StandPoint, hazard: MappedHazard) -> HazardFacts:
    """Kept, since maps change far more seldom than somebody asks where to sit."""
    frame = LocalFrame(origin_lon=stand.longitude, origin_lat=stand.latitude)
    here = shapely.Point(0.0, 0.0)
    shape = frame.geometry_to_metres(hazard.geometry)
    from_deg, to_deg = _bearings_filled(shape, here)
    return HazardFacts(
        kind=hazard.kind,
        name=hazard.name,
        distance_m=float(shape.distance(here)),
        from_bearing_deg=from_deg,
        to_bearing_deg=to_deg,
        nearest_in_arc_m=_nearest_in_arc_m(stand, shape, here),
        has_backstop=hazard.has_backstop,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class Directions:
    """Bearing and distance from each of some stands to each other, measured all at once."""

    index: Mapping[str, int]
    bearing_deg: FloatArray
    distance_m: FloatArray

    def between(self, one: str, other: str) -> tuple[float | None, float]:
        """From the first stand to the second; no bearing between equal places."""
        place = self.index[one], self.index[other]
        bearing = float(self.bearing_deg[place])
        return (None if math.isnan(bearing) else bearing), float(self.distance_m[place])


def directions(stands: Sequence[StandPoint]) -> Directions:
    """Every pair of ``stands``; arrays of shape (stands, stands)."""
    lon = np.array([stand.longitude for stand in stands])
    lat = np.array([stand.latitude for stand in stands])
    return Directions(
        index={stand.stand_id: number for number, stand in enumerate(stands)},
        bearing_deg=bearing_deg(lon[:, None], lat[:, None], lon[None], lat[None]),
        distance_m=distance_m(lon[:, None], lat[:, None], lon[None], lat[None]),
    )


def bearing_and_distance(one: StandPoint, other: StandPoint) -> tuple[float | None, float]:
    """Direction (None between equal places) and distance from one stand to another."""
    places = (one.longitude, one.latitude, other.longitude, other.latitude)
    bearing = float(bearing_deg(*places))
    return (None if math.isnan(bearing) else bearing), float(distance_m(*places))


def _bearings_filled(shape: BaseGeometry, here: shapely.Point) -> tuple[float, float]:
    """The clockwise span of bearings that the shape fills, seen from the origin."""
    if shape.distance(here) == 0.0:
        return 0.0, _ALMOST_FULL_DEG
    spans = [_span_of(part) for part in shapely.get_parts(shape)]
    return _joined(spans)


def _span_of(part: BaseGeometry) -> tuple[float, float]:
    """Start and width of one connected part's span; going round the origin fills it all."""
    outline = part.exterior if part.geom_type == "Polygon" else part
    east, north = shapely.get_coordinates(outline).T
    # The origin is not on the line, so each straight piece turns by less than half a circle.
    turned = np.unwrap(np.arctan2(east, north))
    width = math.degrees(float(turned.max() - turned.min()))
    return math.degrees(float(turned.min())) % 360.0, min(width, _ALMOST_FULL_DEG)


def _joined(spans: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """The narrowest single span that holds all parts' spans."""
    best_start, best_width = 0.0, _ALMOST_FULL_DEG
    for start, _width in spans:
        width = max((other - start) % 360.0 + wide for other, wide in spans)
        if width < best_width:
            best_start, best_width = start, width
    return best_start, (best_start + best_width) % 360.0


def _nearest_in_arc_m(stand: StandPoint, shape: BaseGeometry, here: shapely.Point) -> float:
    if stand.shoots_all_round:
        return float(shape.distance(here))
    inside = shape.intersection(_wedge(stand, _farthest_m(shape)))
    return math.inf if inside.is_empty else float(inside.distance(here))


def _farthest_m(shape: BaseGeometry) -> float:
    west, south, east, north = shape.bounds
    return math.hypot(max(abs(west), abs(east)), max(abs(south), abs(north)))


def _wedge(stand: StandPoint, radius_m: float) -> BaseGeometry:
    """The arc's sector of the disc, a little outside it so that no chord cuts anything off."""
    width = (stand.arc_to_deg - stand.arc_from_deg) % 360.0
    steps = max(2, math.ceil(width / _CUT_DEG) + 1)
    angles = np.radians(stand.arc_from_deg + np.linspace(0.0, width, steps))
    radius_m = (radius_m + 1.0) / math.cos(math.radians(_CUT_DEG / 2))
    rim = np.column_stack([radius_m * np.sin(angles), radius_m * np.cos(angles)])
    return shapely.Polygon(np.vstack([[0.0, 0.0], rim]))
