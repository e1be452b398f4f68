"""What a walk tells deer on any wind: the ground trail it leaves, and being seen or heard."""

import numpy as np
import numpy.typing as npt
from scipy.spatial.distance import cdist

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


def trail_crossed(
    distance_m: FloatArray, *, where: FeaturePoints, settings: WindSettings
) -> FloatArray:
    """1 for each passing feature whose way meets the route, else 0; (features,).

    A point stands for the metres of way on both sides of it.
    """
    if not where.features:
        return np.zeros(0)
    meets = (distance_m <= settings.trail_distance_m + where.way_m / 2.0).astype(float)
    crossed = np.maximum.reduceat(meets, where.starts)
    crossed[: where.staying] = 0.0
    return crossed


def trail_chance(rain_mm: npt.ArrayLike, *, settings: WindSettings) -> FloatArray:
    """Chance that a deer crossing the trail smells it after ``rain_mm`` has fallen on it."""
    rain = np.asarray(rain_mm, dtype=float)
    return np.asarray(settings.trail_chance * np.power(0.5, rain / settings.trail_rain_half_mm))
