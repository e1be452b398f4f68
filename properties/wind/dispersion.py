"""The Gaussian plume, used for relative dilution and never to predict a nose.

Stability classes travel as whole numbers, 0 for A to 5 for F.
"""

from typing import Final

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

CLASS_LETTERS: Final = "ABCDEF"
NEUTRAL: Final = 3

_ACROSS: Final = np.array([0.22, 0.16, 0.11, 0.08, 0.06, 0.04])
_UP: Final = np.array([0.20, 0.12, 0.08, 0.06, 0.03, 0.016])
_UP_BEND: Final = np.array([0.0, 0.0, 0.0002, 0.0015, 0.0003, 0.0003])
_UP_POWER: Final = np.array([0.0, 0.0, 0.5, 0.5, 1.0, 1.0])


def across_slope(stability: npt.ArrayLike) -> FloatArray:
    """σy over x close to the source, by class: the tangent of the plume's half-angle."""
    return _ACROSS[np.asarray(stability, dtype=np.int64)]


def plume_sigmas(
    stability: npt.ArrayLike, downwind_m: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """σy and σz in metres, Briggs (1973), open country.

    ``stability`` and ``downwind_m`` broadcast. Meant for 100 m to 10 km; nearer, the
    curves are extrapolated. Distances at or behind the source give zero.
    """
    index = np.asarray(stability, dtype=np.int64)
    x = np.maximum(np.asarray(downwind_m, dtype=float), 0.0)
    sigma_y = _ACROSS[index] * x / np.sqrt(1.0 + 0.0001 * x)
    sigma_z = _UP[index] * x / np.power(1.0 + _UP_BEND[index] * x, _UP_POWER[index])
    return sigma_y, sigma_z


def plume_coordinates(
    wind_from_deg: npt.ArrayLike, east_m: npt.ArrayLike, north_m: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Metres downwind and across of a place ``east_m``, ``north_m`` of the source.

    x = −e sin φ − n cos φ, y = e cos φ − n sin φ (EPA-454/B-95-003b, 1995).
    """
    angle = np.deg2rad(np.asarray(wind_from_deg, dtype=float))
    east, north = np.asarray(east_m, dtype=float), np.asarray(north_m, dtype=float)
    sine, cosine = np.sin(angle), np.cos(angle)
    return -east * sine - north * cosine, east * cosine - north * sine


def relative_concentration(
    *,
    stability: npt.ArrayLike,
    speed_mps: npt.ArrayLike,
    downwind_m: npt.ArrayLike,
    across_m: npt.ArrayLike,
    source_height_m: npt.ArrayLike,
    nose_height_m: npt.ArrayLike,
) -> FloatArray:
    """Concentration over source strength, s/m³: plume reflected at the ground (Turner 1970).

    C/Q = 1/(2π u σy σz) · e^(−y²/2σy²) · [e^(−(z−H)²/2σz²) + e^(−(z+H)²/2σz²)].
    Arguments broadcast. Exactly zero at and behind the source. Raises ValueError for a
    speed that is not above zero: what calm means is decided before this formula.
    """
    speed = np.asarray(speed_mps, dtype=float)
    if not np.all(speed > 0):
        raise ValueError("the plume needs a wind speed above zero")
    downwind = np.asarray(downwind_m, dtype=float)
    ahead = downwind > 0
    sigma_y, sigma_z = plume_sigmas(stability, np.where(ahead, downwind, 1.0))
    concentration = reflected_plume(
        speed_mps=speed,
        sigma_y_m=sigma_y,
        sigma_z_m=sigma_z,
        across_m=across_m,
        source_height_m=source_height_m,
        nose_height_m=nose_height_m,
    )
    return np.where(ahead, concentration, 0.0)


def reflected_plume(
    *,
    speed_mps: npt.ArrayLike,
    sigma_y_m: FloatArray,
    sigma_z_m: FloatArray,
    across_m: npt.ArrayLike,
    source_height_m: npt.ArrayLike,
    nose_height_m: npt.ArrayLike,
) -> FloatArray:
    """C/Q in s/m³ where the spreads are known: the formula of :func:`relative_concentration`."""
    nose, source = np.asarray(nose_height_m, dtype=float), np.asarray(source_height_m, dtype=float)
    across = np.exp(-0.5 * np.square(np.asarray(across_m, dtype=float) / sigma_y_m))
    vertical = np.exp(-0.5 * np.square((nose - source) / sigma_z_m)) + np.exp(
        -0.5 * np.square((nose + source) / sigma_z_m)
    )
    speed = np.asarray(speed_mps, dtype=float)
    return np.asarray(across * vertical / (2.0 * np.pi * speed * sigma_y_m * sigma_z_m))
