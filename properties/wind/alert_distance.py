"""Which alert distance the reports speak for, and how surely."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline
from scipy.stats import chi2

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

_LEAST_CHANCE: Final = 1e-4
_FINE: Final = 2001


@dataclass(frozen=True, kw_only=True)
class AlertDistanceFit:
    """The likeliest distance; a limit is None where the candidates do not reach it."""

    distance_m: float
    low_m: float | None
    high_m: float | None
    sits: int
    winded: int

    @property
    def is_bounded(self) -> bool:
        return self.low_m is not None and self.high_m is not None

    def as_dict(self) -> dict[str, Any]:
        return {
            "distance_m": round(self.distance_m),
            "low_m": None if self.low_m is None else round(self.low_m),
            "high_m": None if self.high_m is None else round(self.high_m),
            "sits": self.sits,
            "winded": self.winded,
        }


def fit_alert_distance(
    *, candidates_m: FloatArray, chances: FloatArray, winded: BoolArray, confidence: float
) -> AlertDistanceFit:
    """Greatest likelihood over the alert distance, with its likelihood interval.

    ``candidates_m`` (k,) rise; ``chances`` (sits, k) are what the model forecasts with each,
    ``winded`` (sits,) what came. log L = Σ ln p where deer winded the hunter, ln(1 − p)
    where none did, drawn smooth over log distance; the interval holds 2(log L_max − log L)
    ≤ χ²₁ (Wilks 1938). A chance is held at least 10⁻⁴ from 0 and 1, since one odd sit is
    no proof. Raises ValueError for arrays that do not match or fewer than four candidates.
    """
    if chances.shape != (len(winded), len(candidates_m)) or len(candidates_m) < 4:
        raise ValueError("chances are needed for each sit and each of four or more candidates")
    if not len(winded):
        raise ValueError("nothing can be fitted to no sit")
    held = np.clip(chances, _LEAST_CHANCE, 1.0 - _LEAST_CHANCE)
    likelihood = np.where(winded[:, None], np.log(held), np.log1p(-held)).sum(axis=0)
    scale = np.log(candidates_m)
    fine = np.linspace(scale[0], scale[-1], _FINE)
    smooth = CubicSpline(scale, likelihood)(fine)
    best = int(np.argmax(smooth))
    inside = np.flatnonzero(2.0 * (smooth[best] - smooth) <= chi2.ppf(confidence, 1))
    first, last = int(inside[0]), int(inside[-1])
    return AlertDistanceFit(
        distance_m=float(np.exp(fine[best])),
        low_m=float(np.exp(fine[first])) if first > 0 else None,
        high_m=float(np.exp(fine[last])) if last < _FINE - 1 else None,
        sits=len(winded),
        winded=int(winded.sum()),
    )
