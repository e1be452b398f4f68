"""What is mapped around a place for a scrape: boundary, sanctuary, hazards, food plots, arcs."""

from collections.abc import Sequence
from dataclasses import dataclass

from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from scrapes.siting.broadside import Place, bearing_deg
from scrapes.siting.judgement import Reason, StandPlace
from scrapes.siting.settings import SitingSettings


@dataclass(frozen=True, kw_only=True)
class MappedPlace:
    """A named geometry in local metres."""

    name: str
    geometry: BaseGeometry


@dataclass(frozen=True, kw_only=True)
class Ground:
    """What is mapped on a property, in local metres."""

    boundary: BaseGeometry
    sanctuaries: Sequence[MappedPlace] = ()
    hazards: Sequence[MappedPlace] = ()
    food_plots: Sequence[MappedPlace] = ()


@dataclass(frozen=True, kw_only=True)
class ShootingArc:
    """A stand's arc, clockwise from one bearing to the other; equal ones mean all round."""

    stand: StandPlace
    from_deg: float
    to_deg: float


def ground_reasons(place: Place, ground: Ground, *, settings: SitingSettings) -> tuple[Reason, ...]:
    """Each thing mapped that speaks for or against the place."""
    here = Point(place)
    return (
        _boundary(here, ground, settings),
        _sanctuary(here, ground),
        _hazard(here, ground, settings),
        _food_plot(here, ground),
    )


def arc_reason(place: Place, arc: ShootingArc) -> Reason:
    """Whether the place lies inside the arc that was entered for a stand."""
    towards = bearing_deg(arc.stand.place, place)
    width = (arc.to_deg - arc.from_deg) % 360
    inside = width == 0 or (towards - arc.from_deg) % 360 <= width
    entered = "all round" if width == 0 else f"from {arc.from_deg:.0f}° to {arc.to_deg:.0f}°"
    return Reason(
        code="stand_arc",
        subject=arc.stand.name,
        holds=inside,
        sentence=f"From {arc.stand.name} the place lies at {towards:.0f}°; its arc is entered as "
        f"{entered}.",
        facts={"bearing_deg": towards, "from_deg": arc.from_deg, "to_deg": arc.to_deg},
    )


def _boundary(here: Point, ground: Ground, settings: SitingSettings) -> Reason:
    away = float(ground.boundary.boundary.distance(here))
    inside = bool(ground.boundary.covers(here))
    side = "inside" if inside else "outside"
    return Reason(
        code="boundary",
        subject="boundary",
        holds=inside and away >= settings.boundary_distance_m,
        sentence=f"The place lies {away:.0f} m {side} the mapped boundary; at least "
        f"{settings.boundary_distance_m:.0f} m inside is asked for.",
        facts={"inside": inside, "distance_m": away, "limit_m": settings.boundary_distance_m},
    )


def _sanctuary(here: Point, ground: Ground) -> Reason:
    if not ground.sanctuaries:
        return Reason(
            code="sanctuary",
            subject="sanctuaries",
            holds=None,
            sentence="No sanctuary is mapped here.",
        )
    away, name = _nearest(here, ground.sanctuaries)
    sentence = (
        f"The place lies in {name}, where nobody goes."
        if away == 0
        else f"{name} is {away:.0f} m away; nobody goes there."
    )
    return Reason(
        code="sanctuary",
        subject=name,
        holds=away > 0,
        sentence=sentence,
        facts={"distance_m": away},
    )


def _hazard(here: Point, ground: Ground, settings: SitingSettings) -> Reason:
    if not ground.hazards:
        return Reason(
            code="hazard",
            subject="hazards",
            holds=None,
            sentence="No hazard is mapped here; that does not mean there is none.",
        )
    away, name = _nearest(here, ground.hazards)
    return Reason(
        code="hazard",
        subject=name,
        holds=away >= settings.hazard_distance_m,
        sentence=f"{name} is {away:.0f} m away; the settings ask for "
        f"{settings.hazard_distance_m:.0f} m. Setbacks of law and lease come first.",
        facts={"distance_m": away, "limit_m": settings.hazard_distance_m},
    )


def _food_plot(here: Point, ground: Ground) -> Reason:
    """Told, not judged: a plot nearby is a route's end, not a condition."""
    if not ground.food_plots:
        return Reason(
            code="food_plot",
            subject="food plots",
            holds=None,
            sentence="No food plot is mapped here.",
        )
    away, name = _nearest(here, ground.food_plots)
    return Reason(
        code="food_plot",
        subject=name,
        holds=None,
        sentence=f"{name} is {away:.0f} m away.",
        facts={"distance_m": away},
    )


def _nearest(here: Point, places: Sequence[MappedPlace]) -> tuple[float, str]:
    return min((float(place.geometry.distance(here)), place.name) for place in places)
