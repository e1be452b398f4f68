"""Which of many judged places come first, and why."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from scrapes.siting.figures import Bools, Ints, SiteFigures
from scrapes.siting.places import Floats
from scrapes.siting.season_share import SessionShares, downwind_held
from scrapes.siting.settings import SitingSettings

NO_STAND = -1
OUT_OF_SHOT = frozenset({"no_stand", "stand_distance", "stand_arc"})


@dataclass(frozen=True, kw_only=True, eq=False)
class Standing:
    """How each place does from its best stand; arrays (places,).

    ``best_stand`` is -1 where none is mapped. ``objections`` holds the codes of reasons that
    object, ``parts`` what the mark is made of, 0 to 1 each, NaN where not known.
    """

    best_stand: Ints
    objections: tuple[tuple[str, ...], ...]
    mark: Floats
    parts: Mapping[str, Floats]

    @property
    def fits_settings(self) -> Bools:
        """No objection to the place, its cameras, or its best stand."""
        return np.array([not codes for codes in self.objections], dtype=bool)


def standing(figures: SiteFigures, shares: SessionShares, *, settings: SitingSettings) -> Standing:
    """The best stand of a place has it within its shot and arc, then the fewest objections, then
    the highest mark."""
    of_place = _objections_of_place(figures, settings)
    of_stand = _objections_of_stands(figures, shares, settings)
    parts = _parts(figures, shares, settings)
    marks = _marks(parts, settings)
    places = np.arange(len(figures.places))
    if figures.judged.shape[1]:
        objections = np.sum([*of_stand.values()], axis=0)
        beyond = ~(figures.reaches & figures.in_arc)
        order = np.where(figures.judged, 100 * beyond + objections - marks / 2, np.inf)
        best = np.where(figures.judged.any(axis=1), order.argmin(axis=1), NO_STAND)
    else:
        best = np.full(len(places), NO_STAND)
    chosen = best >= 0
    codes = []
    for place in places:
        found = [code for code, objects in of_place.items() if objects[place]]
        if chosen[place]:
            own = (place, best[place])
            found += [code for code, objects in of_stand.items() if objects[own]]
        codes.append(tuple(found))

    def from_best(pairs: Floats) -> Floats:
        if not pairs.shape[1]:
            return np.full(len(places), np.nan)
        return np.where(chosen, pairs[places, best], np.nan)

    return Standing(
        best_stand=best,
        objections=tuple(codes),
        mark=np.where(chosen, from_best(marks), 0.0),
        parts={name: from_best(part) for name, part in parts.items()},
    )


def in_order(given: Standing) -> Ints:
    """Places from the best on: within some stand's shot, fewest objections, highest mark, then in
    the order laid."""
    counts = np.array([len(codes) for codes in given.objections], dtype=np.int64)
    beyond = np.array([not OUT_OF_SHOT.isdisjoint(codes) for codes in given.objections], bool)
    return np.asarray(np.lexsort((-np.round(given.mark, 9), counts, beyond)))


def spread_out(order: Sequence[int] | Ints, places: Floats, *, apart_m: float, most: int) -> Ints:
    """The first ``most`` of ``order`` of which no two lie nearer than ``apart_m``."""
    kept: list[int] = []
    for place in order:
        if len(kept) == most:
            break
        away = np.linalg.norm(places[kept] - places[place], axis=1)
        if not np.any(away < apart_m):
            kept.append(int(place))
    return np.array(kept, dtype=np.int64)


def _objections_of_place(figures: SiteFigures, settings: SitingSettings) -> dict[str, Bools]:
    blinded = figures.camera_sun_away_deg < settings.sun_clearance_deg
    askew = figures.camera_off_deg > settings.off_broadside_deg
    return {
        "boundary": ~figures.inside | (figures.boundary_m < settings.boundary_distance_m),
        "sanctuary": figures.sanctuary.away_m == 0,
        "hazard": figures.hazard.away_m < settings.hazard_distance_m,
        "route_near": figures.route.away_m > settings.route_distance_m,
        "no_stand": ~figures.judged.any(axis=1),
        "camera_broadside": askew.any(axis=1),
        "camera_sun": blinded.any(axis=1),
    }


def _objections_of_stands(
    figures: SiteFigures, shares: SessionShares, settings: SitingSettings
) -> dict[str, Bools]:
    return {
        "stand_distance": ~figures.reaches,
        "stand_arc": ~figures.in_arc,
        "stand_broadside": figures.stand_off_deg > settings.off_broadside_deg,
        "downwind_side": downwind_held(figures, shares) < settings.least_downwind_share,
        "wind_share": shares.share() < settings.least_session_share,
    }


def _parts(
    figures: SiteFigures, shares: SessionShares, settings: SitingSettings
) -> dict[str, Floats]:
    """Parts of the mark for each place and stand; (places, stands), 0 to 1, NaN if not known."""
    off = np.concatenate([figures.camera_off_deg, np.zeros((len(figures.places), 1))], axis=1)
    cameras_off = np.nanmax(off, axis=1)[:, None]
    near = 1 - np.minimum(figures.route.away_m / settings.route_distance_m, 1)
    return {
        "sessions": shares.share(),
        "downwind": downwind_held(figures, shares),
        "broadside": 1 - np.fmax(figures.stand_off_deg, cameras_off) / 90,
        "route": np.broadcast_to(near[:, None], figures.judged.shape),
    }


def _marks(parts: Mapping[str, Floats], settings: SitingSettings) -> Floats:
    """The mean of the known parts by weight; a part that is not known weighs nothing."""
    weights = settings.weights
    given = np.stack([parts[name] for name in weights])
    weight = np.array([*weights.values()])[:, None, None] * ~np.isnan(given)
    total = weight.sum(axis=0)
    summed = (weight * np.nan_to_num(given)).sum(axis=0)
    return np.asarray(summed / np.where(total > 0, total, 1))
