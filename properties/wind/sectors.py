"""Compass sectors, centred on north, north-east and so on."""

from typing import Final

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SECTOR_NAMES: Final = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
SECTOR_NAMES_16: Final = (
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE",
    "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW",
)  # fmt: skip


def sector_of(wind_from_deg: npt.ArrayLike, *, count: int = 8) -> IntArray:
    """Index of the sector, 0 for north, clockwise; -1 where there is no direction.

    A direction on a boundary belongs to the sector clockwise of it.
    """
    width = 360.0 / count
    direction = np.asarray(wind_from_deg, dtype=float)
    known = np.isfinite(direction)
    index = np.floor((np.where(known, direction, 0.0) + width / 2.0) / width) % count
    return np.where(known, index, -1).astype(np.int64)


def sector_name(index: int, *, count: int = 8) -> str:
    """Name of a sector of 8 or 16. Raises ValueError for another count."""
    names = {8: SECTOR_NAMES, 16: SECTOR_NAMES_16}.get(count)
    if names is None:
        raise ValueError("sectors are named for 8 or 16")
    return names[index]


def between_sectors(values: npt.ArrayLike, wind_from_deg: npt.ArrayLike) -> FloatArray:
    """Values held per sector, taken linearly between the sectors' centres round the circle.

    ``values`` (sectors,), ``wind_from_deg`` any shape and finite. A value so read never
    jumps at a boundary.
    """
    table = np.asarray(values, dtype=float)
    place = np.asarray(wind_from_deg, dtype=float) % 360.0 / (360.0 / table.size)
    lower = np.floor(place).astype(np.int64) % table.size
    share = place - np.floor(place)
    return np.asarray((1.0 - share) * table[lower] + share * table[(lower + 1) % table.size])


def sector_chances(attenuation: FloatArray, wind_from_deg: npt.ArrayLike) -> FloatArray:
    """Chance of each of 8 sectors for a direction spread about its mean; shape (..., 8).

    ``attenuation`` (..., modes) are the trigonometric moments of the spread (of order
    1, 2, ...), ``wind_from_deg`` (...) its mean. Zero moments mean an even spread.
    """
    modes = np.arange(1, attenuation.shape[-1] + 1)
    centres = np.deg2rad(np.arange(8) * 45.0)
    angle = centres - np.deg2rad(np.asarray(wind_from_deg, dtype=float))[..., None]
    width = 2.0 * np.sin(modes * np.pi / 8.0) / (modes * np.pi)
    waves = np.cos(modes * angle[..., None]) * (attenuation * width)[..., None, :]
    return np.clip(0.125 + waves.sum(axis=-1), 0.0, 1.0)


def per_mille(shares: npt.ArrayLike) -> IntArray:
    """Whole thousandths of ``shares`` (..., n) that sum to 1000: the largest remainders win.

    Rows that sum to nothing stay zero.
    """
    weights = np.asarray(shares, dtype=float)
    total = weights.sum(axis=-1, keepdims=True)
    exact = np.divide(1000.0 * weights, total, out=np.zeros_like(weights), where=total > 0)
    whole = np.floor(exact + 1e-9)
    missing = np.where(total[..., 0] > 0, 1000 - whole.sum(axis=-1), 0).astype(np.int64)
    rank = np.argsort(np.argsort(-(exact - whole), axis=-1, kind="stable"), axis=-1)
    return (whole + (rank < missing[..., None])).astype(np.int64)
