"""The open errands of a property as one walk on one day, with the hours of least harm."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise
from uuid import UUID
from zoneinfo import ZoneInfo

import numpy as np
from django.db.models import Q
from numpy.typing import NDArray
from shapely import LineString, Point
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from properties.land import settings as layered_settings
from properties.land.geodesy import distance_m
from properties.land.geometry import parse_geometry
from properties.land.models import Closure, Feature, FeatureKind, Property
from properties.land.queries import boundary_of, features_of, setting_layers
from properties.sessions.local_time import local_day
from scheduling.errands.closed_ground import closure_sentence, closures_at, is_closed_all_day
from scheduling.errands.models import Errand
from scheduling.errands.places import Place, open_errands
from scheduling.errands.queries import conditions_told
from scheduling.errands.settings import ErrandSettings
from scheduling.errands.walk import Walk, shortest_walk
from scheduling.errands.walk_hours import StartHour, StopWork, start_hours
from scheduling.sits.closure_queries import closures_in

STRAIGHT_LINES = (
    "Distances are straight lines between the stops, not paths: look at the map for water, fences "
    "and ground nobody enters."
)
ALL_CLOSED = "Nothing is to be done on open ground."
CAUTION = (
    "Tell somebody where you go and when you will be back. What may be done on the day is decided "
    "by local law and by whoever manages the property."
)


@dataclass(frozen=True, kw_only=True)
class Stop:
    """A place of the walk; ``from_last_m`` is the straight line from the stop before, and
    ``crosses`` names the sanctuaries, hazards and closed parts that this line touches."""

    longitude: float
    latitude: float
    errands: tuple[Errand, ...]
    from_last_m: float
    crosses: tuple[str, ...]
    after_minutes: int


@dataclass(frozen=True, kw_only=True)
class ErrandWalk:
    """``start`` is longitude and latitude of where the walk begins and ends.

    ``closed`` errands lie on ground that is closed all day and are left out of the walk;
    ``closures`` tells of all that is closed on the property that day, in words.
    """

    property_id: UUID
    on: date
    start: Place | None
    start_sentence: str
    stops: tuple[Stop, ...]
    without_place: tuple[Errand, ...]
    closed: tuple[Errand, ...]
    closures: tuple[str, ...]
    length_m: float
    back_m: float
    is_shortest: bool
    minutes: int
    hours: tuple[StartHour, ...]
    best: StartHour | None
    hours_sentence: str
    conditions: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Bundle:
    place: Place
    errands: tuple[Errand, ...]


def errand_walk(
    land: Property, *, on: date, now: datetime, assignee_id: UUID | None = None
) -> ErrandWalk:
    """Errands due on that local day or soon after it, in the order of the shortest walk.

    With an assignee: what was given to that person or to nobody.
    """
    settings = layered_settings.resolve(ErrandSettings, *setting_layers(land))
    asked = [Q(due_on__lte=on + timedelta(days=settings.ahead_days))]
    if assignee_id is not None:
        asked.append(Q(assignee_id=assignee_id) | Q(assignee=None))
    closures = closures_in([land.id], on, on)
    met = [(one, closures_at(closures, one.place, land=land)) for one in open_errands(land, *asked)]
    there = [(one, rows) for one, rows in met if not is_closed_all_day(on, rows)]
    closed = tuple(one.errand for one, rows in met if is_closed_all_day(on, rows))
    bundles = _bundles([(one.errand, one.place) for one, _rows in there if one.place], settings)
    features = list(features_of(property_id=land.id))
    start, said, walk = _way_in(land, features, bundles)
    ordered = [bundles[number - 1] for number in walk.order]
    stops, minutes = _stops(start, ordered, _kept_out(features, closures), settings)
    begins_at, ends_at = local_day(on, ZoneInfo(land.time_zone))
    hours, hours_sentence = start_hours(
        land,
        on=on,
        now=now,
        work=[
            StopWork(place=one.place, after_minutes=stop.after_minutes)
            for one, stop in zip(ordered, stops, strict=True)
        ],
        minutes=minutes,
        settings=settings,
        closures=[row for row in closures if any(row in rows for _one, rows in there)],
    )
    return ErrandWalk(
        property_id=land.id,
        on=on,
        start=start,
        start_sentence=ALL_CLOSED if closed and not bundles else said,
        stops=stops,
        without_place=tuple(one.errand for one, _rows in there if one.place is None),
        closed=closed,
        closures=tuple(closure_sentence(row, today=on) for row in closures),
        length_m=walk.length_m,
        back_m=walk.length_m - sum(stop.from_last_m for stop in stops),
        is_shortest=walk.is_shortest,
        minutes=minutes,
        hours=hours,
        best=min(hours, key=lambda one: (-round(one.fit, 3), one.starts_at), default=None),
        hours_sentence=hours_sentence,
        conditions=conditions_told(land, starts_at=max(now, begins_at), ends_at=ends_at),
    )


def _bundles(placed: Iterable[tuple[Errand, Place]], settings: ErrandSettings) -> list[_Bundle]:
    """Errands near each other are one stop, where the first of them is."""
    found: list[_Bundle] = []
    for errand, place in placed:
        for number, one in enumerate(found):
            if float(distance_m(*one.place, *place)) <= settings.same_stop_m:
                found[number] = _Bundle(place=one.place, errands=(*one.errands, errand))
                break
        else:
            found.append(_Bundle(place=place, errands=(errand,)))
    return found


def _way_in(
    land: Property, features: Sequence[Feature], bundles: Sequence[_Bundle]
) -> tuple[Place | None, str, Walk]:
    """The access route from whose outer end the walk is shortest, or the nearest boundary."""
    places = [one.place for one in bundles]
    if not places:
        return None, "Nothing is to be done.", Walk(order=(), length_m=0.0, is_shortest=True)
    boundary = boundary_of(land).boundary
    ways = [
        (_outer_end(route, boundary), f"From {route.name}.")
        for route in features
        if route.kind == FeatureKind.ACCESS_ROUTE
    ]
    if not ways:
        middle = Point(np.mean(places, axis=0))
        edge = nearest_points(boundary, middle)[0]
        said = "No access route is mapped: from the nearest point of the boundary."
        ways = [((edge.x, edge.y), said)]
    walks = [(start, said, shortest_walk(_distances([start, *places]))) for start, said in ways]
    return min(walks, key=lambda one: one[2].length_m)


def _outer_end(route: Feature, boundary: LineString) -> Place:
    """Whichever end of a route lies nearer to the boundary."""
    shape = parse_geometry(route.geometry)
    parts = [shape] if shape.geom_type == "LineString" else list(shape.geoms)
    line = max(parts, key=lambda part: part.length)
    ends = [line.coords[0][:2], line.coords[-1][:2]]
    longitude, latitude = min(ends, key=lambda end: boundary.distance(Point(end)))
    return longitude, latitude


def _distances(places: Sequence[Place]) -> NDArray[np.float64]:
    longitude, latitude = np.array(places, dtype=np.float64).T
    return np.asarray(
        distance_m(longitude[:, None], latitude[:, None], longitude[None, :], latitude[None, :])
    )


def _kept_out(
    features: Iterable[Feature], closures: Iterable[Closure]
) -> list[tuple[str, BaseGeometry]]:
    """By name, ground that nobody walks through."""
    mapped = [
        (one.name, parse_geometry(one.geometry))
        for one in features
        if one.kind in (FeatureKind.SANCTUARY, FeatureKind.HAZARD)
    ]
    return mapped + [(f"Closed: {row.reason}", shape(row.part)) for row in closures if row.part]


def _stops(
    start: Place | None,
    ordered: Sequence[_Bundle],
    kept_out: Sequence[tuple[str, BaseGeometry]],
    settings: ErrandSettings,
) -> tuple[tuple[Stop, ...], int]:
    """The stops in order, and the minutes until one is back."""
    if start is None:
        return (), 0
    stops, minutes = [], 0.0
    places = [start, *(one.place for one in ordered), start]
    for (first, second), bundle in zip(pairwise(places[:-1]), ordered, strict=True):
        leg_m = float(distance_m(*first, *second))
        minutes += leg_m / settings.walking_speed_mps / 60
        leg = LineString([first, second])
        stops.append(
            Stop(
                longitude=second[0],
                latitude=second[1],
                errands=bundle.errands,
                from_last_m=leg_m,
                crosses=tuple(name for name, area in kept_out if area.intersects(leg)),
                after_minutes=round(minutes),
            )
        )
        minutes += settings.work_minutes * len(bundle.errands)
    minutes += float(distance_m(*places[-2], *start)) / settings.walking_speed_mps / 60
    return tuple(stops), round(minutes)
