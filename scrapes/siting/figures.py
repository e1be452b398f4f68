"""The figures by which places for a scrape are judged, for many places at once.

Lengths are metres in the frame of :mod:`scrapes.siting.places`, directions degrees true. What
does not apply is NaN, an index of nothing -1.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

from scrapes.siting.broadside import (
    angle_between_deg,
    bearings_deg,
    best_branch_azimuths_deg,
    off_broadside_deg,
)
from scrapes.siting.places import Around, CameraPlace, Floats, MappedPlace, StandPlace
from scrapes.siting.settings import SitingSettings

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

APART_M = 1.0
"""Nearer than this two places are one, and there is no direction between them."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Nearest:
    """The nearest of some named things: metres (places,), NaN and -1 where there is none."""

    away_m: Floats
    index: Ints


@dataclass(frozen=True, kw_only=True, eq=False)
class SiteFigures:
    """Arrays by place, then by stand, camera or wind, in the order of ``Around``.

    ``judged`` (places, stands): stands whose shot reaches the place, or the nearest one where
    none does; ``reaches`` the former alone. ``watches`` (places, cameras): cameras near enough.
    ``apart`` of a stand or camera: far enough for a direction. ``off`` angles are NaN for those
    that are not judged. ``downwind_m`` and ``downwind_inside`` (places, stands, winds) tell
    where deer that check the scrape from downwind pass; ``downwind_share`` (places, stands) the
    share of recorded hours in which that lay inside the shot.
    """

    places: Floats
    route: Nearest
    boundary_m: Floats
    inside: Bools
    sanctuary: Nearest
    hazard: Nearest
    food_plot: Nearest
    scrape: Nearest
    stand_m: Floats
    stand_limit_m: Floats
    stand_apart: Bools
    from_stand_deg: Floats
    in_arc: Bools
    reaches: Bools
    judged: Bools
    camera_m: Floats
    camera_apart: Bools
    watches: Bools
    azimuth_deg: Floats
    best_azimuth_deg: Floats
    best_worst_off_deg: Floats
    stand_off_deg: Floats
    camera_off_deg: Floats
    camera_looks_deg: Floats
    camera_sun_deg: Floats
    camera_sun_away_deg: Floats
    downwind_m: Floats
    downwind_inside: Bools
    downwind_share: Floats


def site_figures(
    places: ArrayLike,
    around: Around,
    *,
    settings: SitingSettings,
    azimuths_deg: ArrayLike | None = None,
) -> SiteFigures:
    """Figures of ``places`` (places, 2).

    ``azimuths_deg`` (places,) is where each branch points, base to tip; NaN, or None for all,
    takes the best.
    """
    here = np.asarray(places, float).reshape(-1, 2)
    points = shapely.points(here)
    stands, cameras = _positions(around.stands), _positions(around.cameras)
    stand_m, camera_m = _lengths(here, stands), _lengths(here, cameras)
    limit = limits_m(around.stands, settings)
    stand_apart, camera_apart = stand_m >= APART_M, camera_m >= APART_M
    reaches = within_reach(here, around.stands, settings)
    judged = _reaching_or_nearest(reaches, stand_m, stand_apart)
    watches = camera_apart & (camera_m <= settings.camera_near_m)
    sights = bearings_deg(here[:, None], np.concatenate([stands, cameras])[None])
    sights = np.where(np.concatenate([judged, watches], axis=1), sights, np.nan)
    best, worst = best_branch_azimuths_deg(sights, body_to_branch_deg=settings.body_to_branch_deg)
    given = np.full(len(here), np.nan) if azimuths_deg is None else np.asarray(azimuths_deg, float)
    azimuth = np.where(np.isnan(given), best, given % 360)
    off = off_broadside_deg((azimuth + settings.body_to_branch_deg)[:, None], sights)
    looks = np.where(watches, bearings_deg(cameras[None], here[:, None]), np.nan)
    sun, sun_away = _nearest_sun(looks, around.sun_azimuths_deg)
    from_stand = bearings_deg(stands[None], here[:, None])
    downwind_m, inside, share = _downwind(here, around, judged, settings)
    ground = around.ground
    return SiteFigures(
        places=here,
        route=nearest(points, [shapely.LineString(route.points) for route in around.routes]),
        boundary_m=_from_boundary(points, ground.boundary if ground else None),
        inside=np.asarray(shapely.covers(ground.boundary, points), bool)
        if ground
        else np.ones(len(here), bool),
        sanctuary=nearest(points, _shapes(ground.sanctuaries if ground else ())),
        hazard=nearest(points, _shapes(ground.hazards if ground else ())),
        food_plot=nearest(points, _shapes(ground.food_plots if ground else ())),
        scrape=nearest(points, _shapes(around.scrapes)),
        stand_m=stand_m,
        stand_limit_m=limit,
        stand_apart=stand_apart,
        from_stand_deg=from_stand,
        in_arc=in_arc(from_stand, around.stands),
        reaches=reaches,
        judged=judged,
        camera_m=camera_m,
        camera_apart=camera_apart,
        watches=watches,
        azimuth_deg=azimuth,
        best_azimuth_deg=best,
        best_worst_off_deg=worst,
        stand_off_deg=off[:, : len(stands)],
        camera_off_deg=off[:, len(stands) :],
        camera_looks_deg=looks,
        camera_sun_deg=sun,
        camera_sun_away_deg=sun_away,
        downwind_m=downwind_m,
        downwind_inside=inside,
        downwind_share=share,
    )


def limits_m(stands: Sequence[StandPlace], settings: SitingSettings) -> Floats:
    """The furthest shot of each stand that its own limit and the settings' allow."""
    return np.array([min(stand.shot_m, settings.shot_distance_m) for stand in stands], float)


def within_reach(places: Floats, stands: Sequence[StandPlace], settings: SitingSettings) -> Bools:
    """Whether each place (places, 2) lies within each stand's shot; (places, stands)."""
    away = _lengths(places, _positions(stands))
    return np.asarray((away >= APART_M) & (away <= limits_m(stands, settings)))


def in_arc(bearing_deg: Floats, stands: Sequence[StandPlace]) -> Bools:
    """Whether directions (..., stands) lie inside each stand's arc; NaN lies in none."""
    start = np.array([stand.arc_from_deg for stand in stands])
    width = np.array([stand.arc_width_deg for stand in stands])
    return np.asarray((bearing_deg - start) % 360 <= width)


def downwind(
    places: Floats, stand: StandPlace, winds_from_deg: ArrayLike, settings: SitingSettings
) -> tuple[Floats, Bools]:
    """Metres from a stand to the downwind side of each place, and whether that lies within the
    stand's shot and arc; both (places, winds)."""
    towards = np.radians(np.asarray(winds_from_deg, float) + 180)
    step = settings.downwind_check_m * np.stack([np.sin(towards), np.cos(towards)], axis=-1)
    east, north = np.moveaxis(places[:, None] + step - np.asarray(stand.place), -1, 0)
    away = np.hypot(east, north)
    turned = (np.degrees(np.arctan2(east, north)) - stand.arc_from_deg) % 360
    (limit,) = limits_m([stand], settings)
    return away, np.asarray((turned <= stand.arc_width_deg) & (away <= limit))


def nearest(points: NDArray[np.object_], shapes: Sequence[BaseGeometry]) -> Nearest:
    """The nearest of ``shapes`` to each of ``points`` (places,); of equals the first."""
    if not shapes:
        return Nearest(
            away_m=np.full(len(points), np.nan), index=np.full(len(points), -1, np.int64)
        )
    away = np.stack([shapely.distance(shape, points) for shape in shapes], axis=1)
    index = away.argmin(axis=1)
    return Nearest(away_m=away[np.arange(len(points)), index], index=index)


def _reaching_or_nearest(reaches: Bools, stand_m: Floats, apart: Bools) -> Bools:
    if not stand_m.shape[1]:
        return reaches
    away = np.where(apart, stand_m, np.inf)
    first = np.zeros_like(reaches)
    first[np.arange(len(first)), away.argmin(axis=1)] = True
    return np.where(reaches.any(axis=1, keepdims=True), reaches, first & apart)


def _nearest_sun(looks_deg: Floats, suns_deg: Sequence[float]) -> tuple[Floats, Floats]:
    """The low sun nearest to each look, and how far away it is; NaN where nothing looks."""
    sun, away = np.full(looks_deg.shape, np.nan), np.full(looks_deg.shape, np.nan)
    at = np.nonzero(~np.isnan(looks_deg))
    if len(suns_deg) and len(at[0]):
        suns = np.asarray(suns_deg, float)
        angle = angle_between_deg(looks_deg[at][:, None], suns)
        index = angle.argmin(axis=1)
        sun[at], away[at] = suns[index], angle[np.arange(len(index)), index]
    return sun, away


def _downwind(
    places: Floats, around: Around, judged: Bools, settings: SitingSettings
) -> tuple[Floats, Bools, Floats]:
    """Downwind sides of judged pairs by frequent wind (places, stands, winds) twice, and the share
    of recorded hours with them inside the shot (places, stands)."""
    winds = (*judged.shape, len(around.winds_from_deg))
    away, inside = np.full(winds, np.nan), np.zeros(winds, bool)
    shares = np.full(judged.shape, np.nan)
    directions, hours = np.unique(around.hours_from_deg, return_counts=True)
    for index, stand in enumerate(around.stands):
        rows = np.flatnonzero(judged[:, index])
        here = places[rows]
        away[rows, index], inside[rows, index] = downwind(
            here, stand, around.winds_from_deg, settings
        )
        if hours.size:
            _away, held = downwind(here, stand, directions, settings)
            shares[rows, index] = held @ hours / hours.sum()
    return away, inside, shares


def _from_boundary(points: NDArray[np.object_], boundary: BaseGeometry | None) -> Floats:
    if boundary is None:
        return np.full(len(points), np.nan)
    return np.asarray(shapely.distance(boundary.boundary, points), float)


def _positions(things: Sequence[StandPlace | CameraPlace]) -> Floats:
    return np.array([thing.place for thing in things], float).reshape(-1, 2)


def _lengths(places: Floats, others: Floats) -> Floats:
    return np.asarray(np.linalg.norm(others[None] - places[:, None], axis=-1))


def _shapes(places: Sequence[MappedPlace]) -> list[BaseGeometry]:
    return [place.geometry for place in places]
