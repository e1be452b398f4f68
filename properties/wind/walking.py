"""How deer are exposed to a hunter who walks.

The axis of the plume is drawn once in ten minutes, but the hunter moves on: a deer smells
the hunter if the plume passes over it from any point walked in that time. At one wind speed
that is the point of the route from which the scent comes faintest least.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from properties.wind import dose
from properties.wind.air import StandAir
from properties.wind.dispersion import across_slope, relative_concentration
from properties.wind.exposure import Errors, chunks
from properties.wind.features import FeaturePoints
from properties.wind.places import FloatArray, StandPlace, line_points
from properties.wind.settings import WindSettings

STEP_SECONDS: Final = 600.0
_MOST_SOURCES: Final = 60
_AXES: Final = 180
_AXIS_RAD: Final = np.arange(_AXES) * 2.0 * np.pi / _AXES
_WIDEST_MULTIPLE: Final = 5.0
_OUT_OF_REACH: Final = 1e30


@dataclass(frozen=True, kw_only=True, eq=False)
class WalkExposure:
    """Chances that deer who are there are alarmed by a walk.

    ``by_error`` and ``plume_by_error`` (sessions, features, nodes): by plume or
    disturbance, and by the plume alone; ``worst_place`` (sessions, features).
    """

    by_error: FloatArray
    plume_by_error: FloatArray
    worst_place: FloatArray


def walking_exposure(
    *,
    route: FloatArray,
    stand: StandPlace,
    where: FeaturePoints,
    air: StandAir,
    used: FloatArray,
    errors: Errors,
    disturbance: FloatArray,
    settings: WindSettings,
) -> WalkExposure:
    """Exposure to a hunter on a route, in one hour of each session.

    ``air`` has shape (sessions, 1), ``used`` (sessions, points) tells how much passing deer
    use each point in that air, ``disturbance`` (points,) is the chance that a deer is
    alarmed by sight or sound alone. The walk is cut into equal parts of at most ten minutes,
    one draw of the axis each. Deer are at one point of a feature, whether they stay or pass:
    a walk is short. Where they pass, the worst place is the way as a whole.
    """
    sessions, nodes = air.speed_mps.shape[0], errors.nodes_rad.shape[-1]
    shape = (sessions, len(where.features), nodes)
    result = WalkExposure(
        by_error=np.zeros(shape),
        plume_by_error=np.zeros(shape),
        worst_place=np.zeros(shape[:2]),
    )
    draws = draws_of(route, settings)
    if not where.features or not draws:
        return result
    classes = np.unique(air.stability)
    swept = np.stack(
        [
            [_swept(sources, stand=stand, noses=where.points, stability=kind, settings=settings)
             for sources in draws]
            for kind in classes
        ]
    )  # fmt: skip
    quiet = (1.0 - disturbance).astype(np.float32)[:, None]
    each = len(where.points) * (len(draws) * (_AXES + nodes) + len(where.features))
    each += 3 * _AXES * nodes
    for chunk in chunks(sessions, numbers_each=each):
        weights = errors.weights[chunk]
        chances = _chances(
            swept[np.searchsorted(classes, air.stability[chunk, 0])],
            speed_mps=air.speed_mps[chunk, 0],
            wander_rad=air.wander_rad[chunk, 0],
            axis_rad=air.axis_rad[chunk] + errors.nodes_rad[chunk, 0],
        )
        unsmelled = np.prod(1.0 - chances, axis=1)
        mean_weights = where.weights_in_use(used[chunk]).astype(np.float32)
        result.plume_by_error[chunk] = mean_weights @ (1.0 - unsmelled)
        alarmed = 1.0 - unsmelled * quiet
        result.by_error[chunk] = mean_weights @ alarmed
        by_place = np.einsum("spm,sm->sp", alarmed, weights)
        worst = np.maximum.reduceat(by_place, where.starts, axis=-1)
        on_way = np.einsum("sfm,sm->sf", result.by_error[chunk], weights)
        passing = np.arange(len(where.features)) >= where.staying
        result.worst_place[chunk] = np.where(passing, on_way, worst)
    return result


def draws_of(route: FloatArray, settings: WindSettings) -> list[FloatArray]:
    """Sources along the route, (sources, 2) for each draw of the axis; none without a route."""
    points, lengths = line_points(route, spacing_m=settings.route_spacing_m)
    total = float(lengths.sum())
    if len(points) > _MOST_SOURCES:
        points, _ = line_points(route, spacing_m=total / _MOST_SOURCES)
    if len(points) == 0 or total <= 0:
        return []
    count = int(np.ceil(total / settings.walking_pace_mps / STEP_SECONDS))
    return [part for part in np.array_split(points, count) if len(part)]


def _swept(
    sources: FloatArray,
    *,
    stand: StandPlace,
    noses: FloatArray,
    stability: int,
    settings: WindSettings,
) -> npt.NDArray[np.float32]:
    """Least faintness over the sources for each nose and axis; (noses, axes).

    Faintness as in :class:`properties.wind.dose.Paths`; computed only within the plume.
    """
    least = np.full((len(noses), _AXES), _OUT_OF_REACH, dtype=np.float32)
    alert = dose.alert_concentration(settings)
    half_width = np.arctan(_WIDEST_MULTIPLE * across_slope(stability))
    reach = int(np.ceil(half_width / (2.0 * np.pi / _AXES)))
    steps = np.arange(-reach, reach + 1)
    east, north = np.moveaxis(noses[:, None, :] - sources[None, :, :], -1, 0)
    distance = np.hypot(east, north)
    bearing = np.arctan2(east, north)
    axis = np.rint(bearing / (2.0 * np.pi / _AXES)).astype(np.int64)[:, :, None] + steps
    off = axis * (2.0 * np.pi / _AXES) - bearing[:, :, None]
    far = np.maximum(distance, settings.near_m)[:, :, None]
    relative = relative_concentration(
        stability=stability,
        speed_mps=1.0,
        downwind_m=far * np.cos(off),
        across_m=far * np.sin(off),
        source_height_m=settings.ground_source_height_m,
        nose_height_m=settings.nose_height_m,
    )
    faintness = np.square(alert / np.maximum(relative, alert * 1e-15))
    faintness *= dose.filtered(distance, cover=stand.cover, settings=settings)[:, :, None]
    faintness = faintness.astype(np.float32)
    rows, columns = np.arange(len(noses))[:, None], axis % _AXES
    for source in range(len(sources)):
        place = (rows, columns[:, source])
        least[place] = np.minimum(least[place], faintness[:, source])
    least[(distance < settings.near_m).any(axis=1)] = 0.0
    return least


def _chances(
    swept: npt.NDArray[np.float32],
    *,
    speed_mps: FloatArray,
    wander_rad: FloatArray,
    axis_rad: FloatArray,
) -> npt.NDArray[np.float32]:
    """Chance for each session, draw, nose and error node, averaged over wandering.

    ``swept`` (sessions, draws, noses, axes), ``axis_rad`` (sessions, nodes).
    """
    kappa = 1.0 / np.square(wander_rad)[:, None, None]
    away = _AXIS_RAD[:, None] - axis_rad[:, None, :]
    density = np.exp(kappa * (np.cos(away) - 1.0))
    density /= density.sum(axis=1, keepdims=True)
    swept *= np.square(speed_mps).astype(np.float32)[:, None, None, None]
    swept += np.float32(1.0)
    np.reciprocal(swept, out=swept)
    return np.clip(np.matmul(swept, density[:, None].astype(np.float32)), 0.0, 1.0)
