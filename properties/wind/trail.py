"""What a walk tells deer on any wind: the ground trail it leaves, and being seen or heard."""

import numpy as np
import numpy.typing as npt
from scipy.spatial.distance import cdist

from properties.wind.air import BoolArray
from properties.wind.features import FeaturePoints
from properties.wind.places import FloatArray, line_points
from properties.wind.settings import WindSettings

_FINE_M = 5.0


def distance_to_route(route: FloatArray, points: FloatArray) -> FloatArray:
    """Metres from each of (n, 2) points to the route, to within 2.5 m; infinite without one."""
    along, _ = line_points(route, spacing_m=_FINE_M)
    if len(along) == 0 or len(points) == 0:
        return np.full(len(points), np.inf)
    return np.asarray(cdist(points, along).min(axis=1))


def way_met(route: FloatArray, *, where: FeaturePoints, settings: WindSettings) -> BoolArray:
    """Whether the route meets the metres of way that each point stands for; (points,).

    On a scrape's loop those metres lie along the tangent. Elsewhere their direction is not
    kept: a crossing is never missed, and a way beside the route is met from a little farther
    off than the trail distance. Where deer stay there is no way to meet.
    """
    along, _ = line_points(route, spacing_m=_FINE_M)
    if len(along) == 0 or len(where.points) == 0:
        return np.zeros(len(where.points), dtype=bool)
    half_way = where.way_m[:, None] / 2.0
    east, north = np.moveaxis(along[None, :, :] - where.points[:, None, :], -1, 0)
    bearing = where.loop_bearing_rad[:, None]
    outward = east * np.sin(bearing) + north * np.cos(bearing)
    beyond = np.abs(east * np.cos(bearing) - north * np.sin(bearing)) - half_way
    on_loop = np.hypot(outward, np.maximum(beyond, 0.0)) <= settings.trail_distance_m
    elsewhere = np.hypot(east, north) <= np.hypot(settings.trail_distance_m, half_way)
    met = np.where(np.isnan(bearing), elsewhere, on_loop).any(axis=1)
    return np.asarray(met & (np.arange(len(where.points)) >= where.staying_points))


def disturbance(
    distance_m: FloatArray, *, where: FeaturePoints, settings: WindSettings
) -> FloatArray:
    """Chance that a deer at each point sees or hears the hunter walk; (points,).

    Greatest beside the route, half at the sight distance of its kind of feature, and
    fading with the fourth power of distance.
    """
    sight = np.array([settings.sight_distance_of(feature.kind) for feature in where.features])
    counts = np.diff(np.append(where.starts, len(where.points)))
    reach = np.repeat(sight, counts)
    return np.asarray(settings.sight_chance / (1.0 + (distance_m / np.maximum(reach, 0.1)) ** 4))


def trail_crossed(met: BoolArray, *, used: FloatArray, where: FeaturePoints) -> FloatArray:
    """Share of passing deer whose way meets the route; (sessions, features).

    ``met`` (points,) as from :func:`way_met`; ``used`` (sessions, points) how much of the
    deer use each point: of a scrape's loop the side downwind of it.
    """
    if not where.features:
        return np.zeros((len(used), 0))
    return np.asarray(np.maximum.reduceat(met * used, where.starts, axis=1))


def trail_chance(rain_mm: npt.ArrayLike, *, settings: WindSettings) -> FloatArray:
    """Chance that a deer crossing the trail smells it after ``rain_mm`` has fallen on it."""
    rain = np.asarray(rain_mm, dtype=float)
    return np.asarray(settings.trail_chance * np.power(0.5, rain / settings.trail_rain_half_mm))
