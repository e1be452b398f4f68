"""What was forecast against what came of it: the only truth about fit there is.

A sit counts as *winded* when the hunter reported deer that smelled them, as *alarmed* when
deer noticed in any way. Deer that left unseen are in neither, so that observed shares bound
the truth from below.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.stats import beta

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class ObservedShare:
    """``count`` of ``sits``; share and exact limits, None where there is no sit."""

    count: int
    sits: int
    share: float | None
    low: float
    high: float

    def as_dict(self) -> dict[str, Any]:
        return {
            "count": self.count,
            "share": None if self.share is None else round(self.share, 4),
            "low": round(self.low, 4),
            "high": round(self.high, 4),
        }


@dataclass(frozen=True, kw_only=True)
class CalibrationBin:
    """Sits whose forecast chance of an alarm lay from ``low`` up to ``high``.

    ``mean_forecast`` is None for a bin without sits. The last bin holds its upper end.
    """

    low: float
    high: float
    sits: int
    mean_forecast: float | None
    winded: ObservedShare
    alarmed: ObservedShare

    def as_dict(self) -> dict[str, Any]:
        return {
            "low": round(self.low, 4),
            "high": round(self.high, 4),
            "sits": self.sits,
            "mean_forecast": None if self.mean_forecast is None else round(self.mean_forecast, 4),
            "winded": self.winded.as_dict(),
            "alarmed": self.alarmed.as_dict(),
        }


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """All bins, and the whole: ``expected`` sits with an alarm against those observed."""

    bins: tuple[CalibrationBin, ...]
    sits: int
    expected: float
    winded: ObservedShare
    alarmed: ObservedShare

    def as_dict(self) -> dict[str, Any]:
        return {
            "bins": [each.as_dict() for each in self.bins],
            "sits": self.sits,
            "expected": round(self.expected, 2),
            "winded": self.winded.as_dict(),
            "alarmed": self.alarmed.as_dict(),
        }


def observed_share(count: int, sits: int, *, confidence: float) -> ObservedShare:
    """A share with its exact binomial limits (Clopper & Pearson 1934).

    The limits are quantiles of Beta(k, n − k + 1) and Beta(k + 1, n − k); 0 and 1 at the
    ends and where there is no sit. Raises ValueError unless 0 <= ``count`` <= ``sits``.
    """
    if not 0 <= count <= sits:
        raise ValueError(f"{count} of {sits} is no share")
    tail = (1.0 - confidence) / 2.0
    low = float(beta.ppf(tail, count, sits - count + 1)) if count else 0.0
    high = float(beta.ppf(1.0 - tail, count + 1, sits - count)) if count < sits else 1.0
    return ObservedShare(
        count=count, sits=sits, share=count / sits if sits else None, low=low, high=high
    )


def calibration(
    *,
    forecast_chance: FloatArray,
    winded: BoolArray,
    alarmed: BoolArray,
    bins: int,
    confidence: float,
) -> Calibration:
    """Sits in equal bins of the forecast chance; arrays of shape (sits,).

    Raises ValueError for arrays of unequal length or a chance outside 0 to 1.
    """
    if not forecast_chance.shape == winded.shape == alarmed.shape:
        raise ValueError("one chance and two outcomes a sit")
    if not np.all((forecast_chance >= 0) & (forecast_chance <= 1)):
        raise ValueError("chances lie in 0 to 1")
    which = np.minimum((forecast_chance * bins).astype(np.int64), bins - 1)

    def counted(chosen: BoolArray, outcome: BoolArray) -> ObservedShare:
        sits = int(chosen.sum())
        return observed_share(int((chosen & outcome).sum()), sits, confidence=confidence)

    def one(number: int) -> CalibrationBin:
        chosen = which == number
        return CalibrationBin(
            low=number / bins,
            high=(number + 1) / bins,
            sits=int(chosen.sum()),
            mean_forecast=float(forecast_chance[chosen].mean()) if chosen.any() else None,
            winded=counted(chosen, winded),
            alarmed=counted(chosen, alarmed),
        )

    every = np.ones(forecast_chance.shape, dtype=bool)
    return Calibration(
        bins=tuple(one(number) for number in range(bins)),
        sits=len(forecast_chance),
        expected=float(forecast_chance.sum()),
        winded=counted(every, winded),
        alarmed=counted(every, alarmed),
    )


def as_chances(fits: Sequence[float]) -> FloatArray:
    """Chance of an alarm from fits, each the chance of none."""
    return np.clip(1.0 - np.asarray(fits, dtype=float), 0.0, 1.0)
