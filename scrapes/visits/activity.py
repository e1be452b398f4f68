"""Through which hours of the day a scrape is visited: a circular density, with its sample size."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import i0e

Floats = NDArray[np.float64]

HOURS_PER_DAY = 24.0


@dataclass(frozen=True, kw_only=True)
class Activity:
    """Density per hour at ``hours`` of the day, shape (hours,); it integrates to 1 over 24 h."""

    hours: Floats
    density_per_hour: Floats
    sample_size: int


def activity(visit_hours: ArrayLike, *, hours: ArrayLike, concentration: float = 20.0) -> Activity:
    """Von Mises kernel density of visits over local clock hours (0 <= hour < 24, circular).

    ``concentration`` is the kernel's kappa: 20 smooths over about an hour. Raises ValueError
    without visits: nobody's habits can be drawn from nothing.
    """
    seen = np.asarray(visit_hours, dtype=np.float64)
    at = np.asarray(hours, dtype=np.float64)
    if not len(seen):
        raise ValueError("no visits: no activity to describe")
    turn = 2 * np.pi / HOURS_PER_DAY
    # exp(k cos) / I0(k) with both scaled by exp(-k), so that a large kappa does not overflow.
    density = np.array(
        [np.exp(concentration * (np.cos(turn * (hour - seen)) - 1)).mean() for hour in at]
    ) / (2 * np.pi * i0e(concentration))
    return Activity(hours=at, density_per_hour=density * turn, sample_size=len(seen))
