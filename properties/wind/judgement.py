"""One stand judged over many sessions, as arrays: exposure and presence become fit."""

from dataclasses import dataclass

import numpy as np

from properties.wind import exposure, trail, walking
from properties.wind.air import AirHours, StandAir, air_at_stand
from properties.wind.exposure import Errors, Exposure
from properties.wind.features import FeaturePoints
from properties.wind.judged import BoolArray, Draws, IntArray, Judgement
from properties.wind.places import FloatArray, StandPlace
from properties.wind.settings import PARTS, WindSettings

APPROACH, HUNT, EXIT = range(len(PARTS))
PLUME, TRAIL, SIGHT = range(3)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Walk:
    by_error: FloatArray
    worst_place: FloatArray
    cause: IntArray


def judge(
    *,
    stand: StandPlace,
    where: FeaturePoints,
    air: AirHours,
    last_hour: IntArray,
    presence: FloatArray,
    settings: WindSettings,
) -> Judgement:
    """Judge a stand; ``air`` of shape (sessions, hours), ``presence`` (sessions, parts, features).

    ``air`` has been checked. Hours that are not known are left out: what remains bounds the
    fit from above.
    """
    good = air.known
    steps = np.where(good, air.steps, 0.0)
    first_hour = np.zeros_like(last_hour)
    at_ground = air_at_stand(
        stand=stand, air=air, height_m=settings.ground_source_height_m, settings=settings
    )
    at_seat = air_at_stand(stand=stand, air=air, height_m=stand.seat_height_m, settings=settings)
    errors = exposure.session_errors(at_seat, good, settings)
    sits = [
        (
            share,
            exposure.sitting_exposure(
                stand=stand,
                where=where,
                air=moving,
                steps=steps,
                errors=errors,
                source_height_m=height,
                settings=settings,
            ),
        )
        for share, height, moving in _sources(stand, at_seat, at_ground, settings)
    ]
    walks = {
        part: _walk(
            route=route,
            hour=hour,
            stand=stand,
            where=where,
            air=at_ground,
            errors=errors,
            rain_mm=rain,
            settings=settings,
        )
        for part, route, hour, rain in (
            (APPROACH, stand.approach, first_hour, air.rain_mm.sum(axis=1)),
            (EXIT, stand.exit, last_hour, np.zeros(len(last_hour))),
        )
    }
    known = _parts_known(good, air.steps, last_hour)
    return _combined(where, sits, walks, errors, presence, known, good, at_seat)


def _sources(
    stand: StandPlace, at_seat: StandAir, at_ground: StandAir, settings: WindSettings
) -> list[tuple[float, float, StandAir]]:
    """Shares, heights and air of the whole source: one draw a session for an elevated stand."""
    if not stand.elevated or settings.ground_share <= 0:
        return [(1.0, stand.seat_height_m, at_seat)]
    return [
        (1.0 - settings.ground_share, stand.seat_height_m, at_seat),
        (settings.ground_share, settings.ground_source_height_m, at_ground),
    ]


def _walk(
    *,
    route: FloatArray,
    hour: IntArray,
    stand: StandPlace,
    where: FeaturePoints,
    air: StandAir,
    errors: Errors,
    rain_mm: FloatArray,
    settings: WindSettings,
) -> _Walk:
    distance = trail.distance_to_route(route, where.points)
    seen = trail.disturbance(distance, where=where, settings=settings)
    nodes = np.take_along_axis(errors.nodes_rad, hour[:, None, None], axis=1)
    then = air.hour(hour)
    used = exposure.downwind_use(where.loop_bearing_rad, then)[:, 0]
    walked = walking.walking_exposure(
        route=route,
        stand=stand,
        where=where,
        air=then,
        used=used,
        errors=Errors(nodes_rad=nodes, weights=errors.weights),
        disturbance=seen,
        settings=settings,
    )
    met = trail.way_met(route, where=where, settings=settings)
    crossed = trail.trail_crossed(met, used=used, where=where)
    ground = trail.trail_chance(rain_mm, settings=settings)[:, None] * crossed
    by_plume = np.einsum("sfm,sm->sf", walked.plume_by_error, errors.weights)
    by_sight = where.weights_in_use(used) @ seen
    return _Walk(
        by_error=1.0 - (1.0 - walked.by_error) * (1.0 - ground[:, :, None]),
        worst_place=1.0 - (1.0 - walked.worst_place) * (1.0 - ground),
        cause=np.argmax(np.stack([by_plume, ground, by_sight]), axis=0),
    )


def _parts_known(good: BoolArray, steps: FloatArray, last_hour: IntArray) -> BoolArray:
    hunted = steps > 0
    exit_known = np.take_along_axis(good, last_hour[:, None], axis=1)[:, 0]
    hunt_known = np.all(good | ~hunted, axis=1) & hunted.any(axis=1)
    return np.stack([good[:, 0], hunt_known, exit_known], axis=1)


def _combined(
    where: FeaturePoints,
    sits: list[tuple[float, Exposure]],
    walks: dict[int, _Walk],
    errors: Errors,
    presence: FloatArray,
    known: BoolArray,
    good: BoolArray,
    air: StandAir,
) -> Judgement:
    shares = np.array([share for share, _ in sits])
    weights = shares[:, None, None] * errors.weights  # (sources, sessions, nodes)
    walked = {
        part: np.einsum("sf,sfm->sm", presence[:, part], walk.by_error) * known[:, part, None]
        for part, walk in walks.items()
    }
    hunted = np.stack([np.einsum("sf,sfm->sm", presence[:, HUNT], sit.by_error) for _, sit in sits])
    each = np.exp(-(hunted + walked[APPROACH] + walked[EXIT]))
    low, high = _middle_four_fifths(np.moveaxis(each, 0, 1), np.moveaxis(weights, 0, 1))
    part_fit = [
        (errors.weights * np.exp(-walked[APPROACH])).sum(axis=1),
        (weights * np.exp(-hunted)).sum(axis=(0, 2)),
        (errors.weights * np.exp(-walked[EXIT])).sum(axis=1),
    ]
    hour_fit = [
        np.exp(-np.einsum("sf,shfm->shm", presence[:, HUNT], sit.hour_by_error)) for _, sit in sits
    ]

    def mixed(arrays: list[FloatArray]) -> FloatArray:
        return np.asarray(np.tensordot(shares, np.stack(arrays), axes=1))

    def over_error(by_error: FloatArray) -> FloatArray:
        return np.asarray(np.einsum("sfm,sm->sf", by_error, errors.weights))

    chances = np.stack(
        [
            over_error(walks[APPROACH].by_error) * known[:, APPROACH, None],
            over_error(mixed([sit.by_error for _, sit in sits])),
            over_error(walks[EXIT].by_error) * known[:, EXIT, None],
        ],
        axis=1,
    )
    worst_places = np.stack(
        [
            walks[APPROACH].worst_place * known[:, APPROACH, None],
            _worst(where, mixed([sit.by_place for _, sit in sits]), chances[:, HUNT]),
            walks[EXIT].worst_place * known[:, EXIT, None],
        ],
        axis=1,
    )
    hourly = mixed([sit.hour_by_error for _, sit in sits])
    hour_chances = np.einsum("shfm,sm->shf", hourly, errors.weights)
    hour_places = mixed([sit.hour_by_place for _, sit in sits])
    return Judgement(
        fit=_chance((weights * each).sum(axis=(0, 2))),
        fit_low=low,
        fit_high=high,
        part_fit=_chance(np.stack(part_fit, axis=1)),
        hour_fit=_chance(np.einsum("shm,sm->sh", mixed(hour_fit), errors.weights)),
        chances=chances,
        worst_places=worst_places,
        cause=np.stack(
            [walks[APPROACH].cause, np.full_like(walks[EXIT].cause, PLUME), walks[EXIT].cause],
            axis=1,
        ),
        hour_chances=hour_chances,
        hour_worst_places=_worst(where, hour_places, hour_chances),
        presence=presence,
        part_known=known,
        good=good,
        air=air,
        draws=Draws(
            turn_rad=_widest(errors.nodes_rad),
            weights=errors.weights,
            shares=shares,
            approach=walked[APPROACH],
            hunt=hunted,
            exit=walked[EXIT],
        ),
    )


def _worst(where: FeaturePoints, by_place: FloatArray, chances: FloatArray) -> FloatArray:
    """Worst place of each feature: one point where deer stay, the whole way where they pass."""
    worst = chances.copy()
    if where.staying:
        starts = where.starts[: where.staying]
        worst[..., : where.staying] = np.maximum.reduceat(by_place, starts, axis=-1)
    return worst


def _widest(nodes_rad: FloatArray) -> FloatArray:
    """Nodes (sessions, hours, nodes) of each session's hour with the widest error."""
    hour = np.argmax(np.abs(nodes_rad[..., 0]), axis=1)
    return np.asarray(np.take_along_axis(nodes_rad, hour[:, None, None], axis=1)[:, 0])


def _chance(value: FloatArray) -> FloatArray:
    """Rounding may carry a certainty a hair past 1."""
    return np.clip(value, 0.0, 1.0)


def _middle_four_fifths(values: FloatArray, weights: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Weighted tenth and ninetieth percentiles of (sessions, ...) values; (sessions,) each."""
    flat, weight = values.reshape(len(values), -1), weights.reshape(len(weights), -1)
    order = np.argsort(flat, axis=1)
    ranked = np.take_along_axis(flat, order, axis=1)
    reached = np.cumsum(np.take_along_axis(weight, order, axis=1), axis=1)

    def percentile(part: float) -> FloatArray:
        place = np.argmax(reached >= part - 1e-9, axis=1)
        return np.asarray(np.take_along_axis(ranked, place[:, None], axis=1)[:, 0])

    return percentile(0.1), percentile(0.9)
