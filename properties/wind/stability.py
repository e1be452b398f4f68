"""Stability of the air from wind, sun and cloud, and the wind at other heights."""

from typing import Final

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SUNRISE_ELEVATION_DEG: Final = -0.833
"""Elevation of the sun's centre at sunrise and sunset: zenith 90°50′."""

_KNOT_MPS: Final = 1852.0 / 3600.0
# Turner (1964). Rows: knots up to 1, 3, 5, 6, 7, 9, 10, 11 and above.
# Columns: net radiation index 4, 3, 2, 1, 0, -1, -2.
_UPPER_KNOTS: Final = np.array([1.5, 3.5, 5.5, 6.5, 7.5, 9.5, 10.5, 11.5])
_TURNER: Final = np.array(
    [
        [1, 1, 2, 3, 4, 6, 7],
        [1, 2, 2, 3, 4, 6, 7],
        [1, 2, 3, 4, 4, 5, 6],
        [2, 2, 3, 4, 4, 5, 6],
        [2, 2, 3, 4, 4, 4, 5],
        [2, 3, 3, 4, 4, 4, 5],
        [3, 3, 4, 4, 4, 4, 5],
        [3, 3, 4, 4, 4, 4, 4],
        [3, 4, 4, 4, 4, 4, 4],
    ]
)
_HEIGHT_POWER: Final = np.array([0.07, 0.07, 0.10, 0.15, 0.35, 0.55])
_OVERCAST: Final = 0.95


def insolation_class(sun_elevation_deg: npt.ArrayLike) -> IntArray:
    """Turner's insolation class: 4 above 60°, 3 above 35°, 2 above 15°, 1 below."""
    elevation = np.asarray(sun_elevation_deg, dtype=float)
    return np.asarray(1 + (elevation > 15) + (elevation > 35) + (elevation > 60), dtype=np.int64)


def net_radiation_index(
    sun_elevation_deg: npt.ArrayLike, cloud_fraction: npt.ArrayLike
) -> IntArray:
    """Turner's net radiation index, -2 (clear night) to 4 (strong sun), from cover alone.

    Forecasts carry no ceiling, so that an overcast (0.95 and more) counts as low: index 0
    by day and by night, and broken cloud by day as middling: one class less, never below 1.
    Night lasts from sunset to sunrise by the sun's elevation. ``cloud_fraction`` in [0, 1].
    """
    elevation = np.asarray(sun_elevation_deg, dtype=float)
    cloud = np.asarray(cloud_fraction, dtype=float)
    by_day = insolation_class(elevation)
    by_day = np.where(cloud > 0.5, np.maximum(by_day - 1, 1), by_day)
    by_night = np.where(cloud <= 0.4, -2, -1)
    index = np.where(elevation > SUNRISE_ELEVATION_DEG, by_day, by_night)
    return np.asarray(np.where(cloud >= _OVERCAST, 0, index), dtype=np.int64)


def turner_number(speed_mps: npt.ArrayLike, radiation_index: npt.ArrayLike) -> IntArray:
    """Turner's (1964) class 1–7 for wind at 10 m; speeds are rounded to whole knots."""
    row = np.searchsorted(_UPPER_KNOTS, np.asarray(speed_mps, dtype=float) / _KNOT_MPS, "right")
    return np.asarray(_TURNER[row, 4 - np.asarray(radiation_index, dtype=np.int64)])


def stability_class(
    *,
    speed_mps: npt.ArrayLike,
    sun_elevation_deg: npt.ArrayLike,
    cloud_fraction: npt.ArrayLike,
) -> IntArray:
    """Pasquill class, 0 for A to 5 for F, by Turner's scheme.

    Wind at 10 m. Turner's seventh class (G) counts as F, the last that has a plume curve.
    An evening turns stable by itself as the sun goes below the horizon.
    """
    number = turner_number(speed_mps, net_radiation_index(sun_elevation_deg, cloud_fraction))
    return np.minimum(number, 6) - 1


def speed_at_height(
    speed_mps: npt.ArrayLike,
    *,
    stability: npt.ArrayLike,
    height_m: npt.ArrayLike,
    known_at_m: float = 10.0,
) -> FloatArray:
    """Wind at ``height_m`` by the power law with rural exponents (Irwin 1979; ISC3).

    Not meant below about 1 m: lower heights are taken as 1 m.
    """
    power = _HEIGHT_POWER[np.asarray(stability, dtype=np.int64)]
    height = np.maximum(np.asarray(height_m, dtype=float), 1.0)
    return np.asarray(np.asarray(speed_mps, dtype=float) * np.power(height / known_at_m, power))
