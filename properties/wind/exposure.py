"""How deer are exposed to a hunter who sits.

Every result keeps the nodes of the session's error, over which only the fit is averaged.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from properties.wind import dose, wander
from properties.wind.air import StandAir
from properties.wind.features import FeaturePoints
from properties.wind.places import FloatArray, StandPlace
from properties.wind.settings import WindSettings

_CHUNK_BYTES = 24 * 2**20


@dataclass(frozen=True, kw_only=True, eq=False)
class Errors:
    """One draw of direction error a session.

    ``nodes_rad`` (sessions, hours, nodes): the draw scaled to each hour's own spread;
    ``weights`` (sessions, nodes) sum to 1.
    """

    nodes_rad: FloatArray
    weights: FloatArray


def session_errors(air: StandAir, used: npt.NDArray[np.bool_], settings: WindSettings) -> Errors:
    """Errors of sessions from the spread of their used hours; the widest sets the nodes."""
    widest = np.max(np.where(used, air.error_rad, 0.0), axis=1)
    nodes, weights = wander.error_nodes(widest, count=settings.error_nodes)
    scale = np.minimum(air.error_rad / np.maximum(widest, 1e-9)[:, None], 1.0)
    return Errors(nodes_rad=scale[:, :, None] * nodes[:, None, :], weights=weights)


@dataclass(frozen=True, kw_only=True, eq=False)
class Exposure:
    """Chances that deer who are there smell the hunter in one part of a session.

    ``by_error`` (sessions, features, nodes) per feature; ``by_place`` (sessions, staying
    points) for a deer that stays at one point, averaged over the error; ``hour_by_error``
    (sessions, hours, features, nodes) and ``hour_by_place`` (sessions, hours, staying
    points): the same within each hour.
    """

    by_error: FloatArray
    by_place: FloatArray
    hour_by_error: FloatArray
    hour_by_place: FloatArray


def sitting_exposure(
    *,
    stand: StandPlace,
    where: FeaturePoints,
    air: StandAir,
    steps: FloatArray,
    errors: Errors,
    source_height_m: float,
    settings: WindSettings,
) -> Exposure:
    """Exposure to a hunter on the stand; ``steps`` (sessions, hours) are zero if not counted.

    Staying deer: 1 − Π (1 − q)^steps at each point. Passing deer come in one of the hours,
    as likely in each step, and meet every stretch of their way for the passing steps: never
    less exposed than at the worst point of it.
    """
    sessions, hours = steps.shape
    nodes = errors.nodes_rad.shape[-1]
    shape = (sessions, hours, len(where.features), nodes)
    result = Exposure(
        by_error=np.zeros((sessions, *shape[2:])),
        by_place=np.zeros((sessions, where.staying_points)),
        hour_by_error=np.zeros(shape),
        hour_by_place=np.zeros((sessions, hours, where.staying_points)),
    )
    if not where.features:
        return result
    along = dose.paths(
        sources=stand.position[None, :],
        noses=where.points,
        source_height_m=source_height_m,
        cover=stand.cover,
        classes=air.stability,
        settings=settings,
    )
    held = dose.waves(along, modes=wander.modes_for(float(air.wander_rad.min())))
    each = hours * along.pairs * (2 * held.modes + 20 + 3 * nodes)
    for chunk in chunks(sessions, numbers_each=each):
        part, count = air.sessions(chunk), steps[chunk]
        chances = dose.step_chances(
            along,
            held,
            air=flat(part),
            error_rad=errors.nodes_rad[chunk].reshape(-1, nodes),
        )
        hazard = -np.log1p(-chances.reshape(*count.shape, along.pairs, nodes))
        _staying(result, chunk, where, hazard, count, errors.weights[chunk])
        _passing(result, chunk, where, hazard, count, part, settings)
    return result


def _staying(
    result: Exposure,
    chunk: slice,
    where: FeaturePoints,
    hazard: npt.NDArray[np.float32],
    steps: FloatArray,
    error_weights: FloatArray,
) -> None:
    last = where.staying_points
    if last == 0:
        return
    exposed = hazard[:, :, :last] * steps.astype(np.float32)[:, :, None, None]
    whole = -np.expm1(-exposed.sum(axis=1))
    hourly = -np.expm1(-exposed)
    features = slice(0, where.staying)
    mean_weights = where.mean_weights[features, :last].astype(np.float32)
    weights = error_weights.astype(np.float32)
    result.by_error[chunk, features] = mean_weights @ whole
    result.hour_by_error[chunk, :, features] = mean_weights @ hourly
    result.by_place[chunk] = (whole @ weights[:, :, None])[..., 0]
    result.hour_by_place[chunk] = (hourly @ weights[:, None, :, None])[..., 0]


def _passing(
    result: Exposure,
    chunk: slice,
    where: FeaturePoints,
    hazard: npt.NDArray[np.float32],
    steps: FloatArray,
    air: StandAir,
    settings: WindSettings,
) -> None:
    first = where.staying_points
    if first == len(where.points):
        return
    features = slice(where.staying, None)
    starts = where.starts[features] - first
    used = downwind_use(where.loop_bearing_rad[first:], air) * settings.passing_steps
    exposed = hazard[:, :, first:] * used.astype(np.float32)[..., None]
    stretches = where.way_m[first:] / settings.passing_stretch_m
    along = np.add.reduceat(exposed * stretches.astype(np.float32)[:, None], starts, axis=2)
    at_worst = np.maximum.reduceat(exposed, starts, axis=2)
    hourly = -np.expm1(-np.maximum(along, at_worst)) * (steps > 0)[:, :, None, None]
    result.hour_by_error[chunk, :, features] = hourly
    total = steps.sum(axis=1, keepdims=True)
    share = np.divide(steps, total, out=np.zeros_like(steps), where=total > 0)
    result.by_error[chunk, features] = np.einsum("sh,shfm->sfm", share, hourly)


def downwind_use(loop_bearing_rad: FloatArray, air: StandAir) -> FloatArray:
    """How much passing deer use each point; (sessions, hours, points) in [0, 1].

    A fixed point is always used. On a scrape's loop the side downwind of the scrape is,
    falling off as cos² to nothing at right angles; in calm every side is, by a quarter.
    """
    turn = loop_bearing_rad - air.axis_rad[..., None]
    on_loop = np.square(np.maximum(np.cos(turn), 0.0))
    on_loop = np.where(np.isinf(air.wander_rad)[..., None], 0.25, on_loop)
    return np.where(np.isnan(loop_bearing_rad), 1.0, on_loop)


def flat(air: StandAir) -> StandAir:
    """The same air with sessions and hours in one axis: each array becomes (times,)."""
    return StandAir(
        stability=air.stability.reshape(-1),
        speed_mps=air.speed_mps.reshape(-1),
        axis_rad=air.axis_rad.reshape(-1),
        wander_rad=air.wander_rad.reshape(-1),
        error_rad=air.error_rad.reshape(-1),
    )


def chunks(sessions: int, *, numbers_each: int) -> Iterator[slice]:
    """Runs of sessions whose working arrays of single precision stay within a chunk's bytes."""
    size = max(1, _CHUNK_BYTES // (4 * max(numbers_each, 1)))
    for start in range(0, sessions, size):
        yield slice(start, start + size)
