"""Directions: wind components, circular statistics, the spread of directions.

Angles are in degrees true; a wind direction is where it blows *from*.
"""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

_BEAUFORT_LOWER_MPS = (0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7)


def turn_deg(from_deg: npt.ArrayLike, to_deg: npt.ArrayLike) -> FloatArray:
    """Signed turn from one direction to another, in [-180, 180); clockwise is positive."""
    difference = np.asarray(to_deg, dtype=float) - np.asarray(from_deg, dtype=float)
    return np.asarray((difference + 180.0) % 360.0 - 180.0)


def wind_components(
    speed_mps: npt.ArrayLike, wind_from_deg: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """East and north components of the air's motion, m/s: u = -V sin φ, v = -V cos φ (ECMWF)."""
    angle = np.deg2rad(np.asarray(wind_from_deg, dtype=float))
    speed = np.asarray(speed_mps, dtype=float)
    return -speed * np.sin(angle), -speed * np.cos(angle)


def wind_from_components(
    east_mps: npt.ArrayLike, north_mps: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Speed and the direction it blows from, in [0, 360); NaN direction where there is no wind."""
    east, north = np.asarray(east_mps, dtype=float), np.asarray(north_mps, dtype=float)
    speed = np.hypot(east, north)
    direction = (180.0 + np.rad2deg(np.arctan2(east, north))) % 360.0
    return speed, np.where(speed > 1e-9, direction, np.nan)


def mean_wind(
    speed_mps: npt.ArrayLike, wind_from_deg: npt.ArrayLike
) -> tuple[float, float | None, float | None]:
    """Mean of wind vectors: speed, direction, steadiness (vector over scalar mean speed).

    Direction is None where the vectors cancel, steadiness where there is no wind at all.
    """
    east, north = wind_components(speed_mps, wind_from_deg)
    speed, direction = wind_from_components(east.mean(), north.mean())
    scalar = float(np.mean(np.asarray(speed_mps, dtype=float)))
    return (
        float(speed),
        None if np.isnan(direction) else float(direction),
        float(speed) / scalar if scalar > 0 else None,
    )


def resultant(angles_deg: npt.ArrayLike) -> tuple[float | None, float]:
    """Circular mean direction and mean resultant length R in [0, 1] (Fisher 1993).

    The mean is None where directions cancel. Raises ValueError for no angles.
    """
    angles = np.deg2rad(np.asarray(angles_deg, dtype=float))
    if angles.size == 0:
        raise ValueError("no directions to average")
    cosine, sine = float(np.cos(angles).mean()), float(np.sin(angles).mean())
    length = float(np.hypot(cosine, sine))
    if length < 1e-9:
        return None, 0.0
    return float(np.rad2deg(np.arctan2(sine, cosine)) % 360.0), min(length, 1.0)


def circular_deviation_deg(angles_deg: npt.ArrayLike) -> float:
    """Circular standard deviation √(−2 ln R) in degrees; infinite where directions cancel."""
    _, length = resultant(angles_deg)
    return float(np.rad2deg(np.sqrt(-2.0 * np.log(length)))) if length > 0 else float("inf")


def rayleigh_probability(*, count: int, resultant_length: float) -> float:
    """Chance of so great an R from uniform directions: Fisher's series, held within [0, 1].

    Z = n R²; p = e^-Z [1 + (2Z − Z²)/4n − (24Z − 132Z² + 76Z³ − 9Z⁴)/288n²] (Fisher 1993).
    """
    z = count * resultant_length**2
    series = (
        1.0
        + (2.0 * z - z**2) / (4.0 * count)
        - (24.0 * z - 132.0 * z**2 + 76.0 * z**3 - 9.0 * z**4) / (288.0 * count**2)
    )
    return float(np.clip(np.exp(-z) * series, 0.0, 1.0))


def rayleigh_probability_zar(*, count: int, resultant_length: float) -> float:
    """The same question by Zar's formula: p = e^(√(1+4n+4(n²−(nR)²)) − (1+2n))."""
    n, total = count, count * resultant_length
    return float(np.exp(np.sqrt(1.0 + 4.0 * n + 4.0 * (n**2 - total**2)) - (1.0 + 2.0 * n)))


def yamartino_deviation_deg(angles_deg: npt.ArrayLike) -> float:
    """Standard deviation of direction by Yamartino (1984), the single-pass method.

    σ = asin ε · (1 + (2/√3 − 1) ε³), ε = √(1 − (s² + c²)). It is a σθ only where many
    samples fall within the averaging time; of hourly directions it is merely a spread.
    """
    _, length = resultant(angles_deg)
    epsilon = float(np.sqrt(max(0.0, 1.0 - length**2)))
    return float(np.rad2deg(np.arcsin(epsilon)) * (1.0 + (2.0 / np.sqrt(3.0) - 1.0) * epsilon**3))


def combined_deviation_deg(deviations_deg: npt.ArrayLike) -> float:
    """Deviation over an hour from those of its equal parts: their root mean square."""
    return float(np.sqrt(np.mean(np.square(np.asarray(deviations_deg, dtype=float)))))


def beaufort_force(speed_mps: npt.ArrayLike) -> npt.NDArray[np.int64]:
    """Beaufort force 0–12; a speed on a limit belongs to the higher force."""
    return np.searchsorted(_BEAUFORT_LOWER_MPS, np.asarray(speed_mps, dtype=float), side="right")
