"""Two scales of direction: wandering, drawn anew each ten minutes, and the session's error.

Wandering is handled in waves: a periodic function averaged over a von Mises spread keeps
its waves, each reduced by a moment of that spread. The error is handled at nodes.
"""

from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.special import ive

from properties.wind.settings import WindSettings

FloatArray = npt.NDArray[np.float64]

STEPS_PER_HOUR: Final = 6.0
_CLASS_SPREAD_DEG: Final = np.array([25.0, 20.0, 15.0, 10.0, 5.0, 2.5])
_SURE_RAD: Final = 1e-4


def class_spread_deg(stability: npt.ArrayLike) -> FloatArray:
    """σθ at the middle of each Pasquill class: 25, 20, 15, 10, 5, 2.5° (NOAA READY)."""
    return _CLASS_SPREAD_DEG[np.asarray(stability, dtype=np.int64)]


def wander_spread(
    *,
    stability: npt.ArrayLike,
    speed_mps: npt.ArrayLike,
    gust_factor: npt.ArrayLike,
    cover: str,
    settings: WindSettings,
) -> FloatArray:
    """Spread in radians of the plume's axis within an hour.

    √(σθ² + (meander ÷ u)² + (gustiness above the usual)²), times the cover's factor.
    ``gust_factor`` is gust over mean speed, 1 where no gust is given.
    """
    spread = np.deg2rad(class_spread_deg(stability))
    meander = settings.meander_mps / np.asarray(speed_mps, dtype=float)
    excess = np.maximum(np.asarray(gust_factor, dtype=float) - settings.usual_gust_factor, 0.0)
    squares = spread**2 + meander**2 + (settings.gust_wander * excess) ** 2
    return np.asarray(np.sqrt(squares) * settings.wander_factor_of(cover))


def moments(spread_rad: npt.ArrayLike, *, count: int) -> FloatArray:
    """Moments 1..``count`` of von Mises spreads with κ = 1/σ²; shape (..., count).

    The n-th is I_n(κ)/I_0(κ). An infinite spread (uniform direction) has none.
    """
    spread = np.maximum(np.asarray(spread_rad, dtype=float), 1e-3)
    kappa = 1.0 / np.square(spread)
    order = np.arange(1, count + 1)
    return np.asarray(ive(order, kappa[..., None]) / ive(0, kappa)[..., None])


def modes_for(least_spread_rad: float) -> int:
    """How many waves describe a spread: what is left out is below 2·10⁻³."""
    return int(np.clip(np.ceil(3.6 / max(least_spread_rad, 1e-3)), 8, 90))


def forecast_error_deg(lead_hours: npt.ArrayLike, *, settings: WindSettings) -> FloatArray:
    """Error of a forecast's direction by its lead time; hours before now count as none.

    An unknown lead time (NaN) has the greatest error.
    """
    lead = np.asarray(lead_hours, dtype=float)
    grown = settings.error_now_deg + settings.error_growth_deg_per_day * np.maximum(lead, 0) / 24.0
    known = np.where(np.isnan(lead), settings.error_most_deg, grown)
    return np.minimum(known, settings.error_most_deg)


def error_nodes(spread_rad: npt.ArrayLike, *, count: int) -> tuple[FloatArray, FloatArray]:
    """Nodes (radians) and weights of a von Mises error with κ = 1/σ²; shapes (..., count).

    Equal steps over all that matters of the circle (density above 10⁻⁴ of its peak): the
    midpoint rule, which converges fast because wandering has smoothed the integrand. An odd
    count has a node at no error. A spread of zero puts every node there.
    """
    spread = np.asarray(spread_rad, dtype=float)[..., None]
    kappa = 1.0 / np.square(np.maximum(spread, _SURE_RAD))
    widest = np.arccos(np.maximum(-1.0, 1.0 - 9.2 / kappa))
    steps = (2.0 * np.arange(count) + 1.0) / count - 1.0
    nodes = np.where(spread < _SURE_RAD, 0.0, widest * steps)
    density = np.exp(kappa * (np.cos(nodes) - 1.0))
    return nodes, density / density.sum(axis=-1, keepdims=True)
