"""Candidate places for a scrape: a square grid along routes, less what is out of the question."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from scrapes.siting.figures import nearest
from scrapes.siting.places import Floats, Ground, MappedPlace, Route

OUTSIDE, SANCTUARY, HAZARD = "outside_boundary", "in_sanctuary", "near_hazard"


class TooMany(ValueError):
    """More candidates than are judged at once."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Candidates:
    """``places`` (candidates, 2) that may be judged; ``excluded`` counts the others by the
    first reason that shut each out. Together they are ``laid``."""

    places: Floats
    laid: int
    excluded: Mapping[str, int]


def lay_candidates(
    routes: Sequence[Route],
    ground: Ground,
    *,
    spacing_m: float,
    reach_m: float,
    hazard_distance_m: float,
    most: int,
) -> Candidates:
    """Grid points within ``reach_m`` of a route, boundary, sanctuaries and hazards respected.

    The grid is aligned to the frame's origin, so that each point is laid once however many
    routes pass it. Raises :class:`TooMany` above ``most`` points.
    """
    cells = [_cells_along(route, spacing_m, reach_m, most) for route in routes]
    found = np.unique(np.concatenate(cells), axis=0) if cells else np.empty((0, 2), np.int64)
    if len(found) > most:
        raise TooMany(_too_many(len(found), most))
    laid = found.astype(np.float64) * spacing_m
    points = shapely.points(laid)
    inside = np.asarray(shapely.covers(ground.boundary, points), bool)
    in_sanctuary = _within(points, ground.sanctuaries, 0.0)
    near_hazard = _within(points, ground.hazards, hazard_distance_m)
    shut_out = {
        OUTSIDE: ~inside,
        SANCTUARY: inside & in_sanctuary,
        HAZARD: inside & ~in_sanctuary & near_hazard,
    }
    return Candidates(
        places=laid[inside & ~in_sanctuary & ~near_hazard],
        laid=len(laid),
        excluded={reason: int(which.sum()) for reason, which in shut_out.items()},
    )


def _cells_along(route: Route, spacing_m: float, reach_m: float, most: int) -> NDArray[np.int64]:
    line = shapely.LineString(route.points)
    west, south, east, north = line.bounds
    across = np.arange(
        np.ceil((west - reach_m) / spacing_m), np.floor((east + reach_m) / spacing_m) + 1
    )
    along = np.arange(
        np.ceil((south - reach_m) / spacing_m), np.floor((north + reach_m) / spacing_m) + 1
    )
    # A diagonal route fills its box with a corner's points; the line's own area is the measure.
    if 2 * reach_m * line.length / spacing_m**2 > 2 * most:
        raise TooMany(_too_many(int(2 * reach_m * line.length / spacing_m**2), most))
    kept = [
        np.column_stack([across, np.full(len(across), row)])[
            shapely.dwithin(line, shapely.points(across * spacing_m, row * spacing_m), reach_m)
        ]
        for row in along
    ]
    return np.concatenate(kept).astype(np.int64) if kept else np.empty((0, 2), np.int64)


def _within(
    points: NDArray[np.object_], places: Sequence[MappedPlace], metres: float
) -> NDArray[np.bool_]:
    """Whether each point lies in, or nearer than ``metres`` to, one of ``places``."""
    away = nearest(points, [place.geometry for place in places]).away_m
    return np.asarray((away == 0) | (away < metres))


def _too_many(found: int, most: int) -> str:
    return f"about {found} places would be laid and at most {most} are judged; widen the spacing"
