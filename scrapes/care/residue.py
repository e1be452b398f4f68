"""What is left of the scent last applied: an indicator, not a measurement.

Rain washes it out and time fades it. What deer learned of people (pressure) is another memory,
which rain does not clear; it is not kept here.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scrapes.care.settings import CareSettings

_DAY_S = 86_400


@dataclass(frozen=True, kw_only=True)
class Residue:
    """``remaining_share`` from 1 (just applied) to 0 (washed out)."""

    remaining_share: float
    rain_mm: float
    days: float
    washed_out: bool
    sentence: str


def rain_between_mm(
    rain_end_s: NDArray[np.int64], rain_mm: NDArray[np.float64], *, start_s: int, end_s: int
) -> float:
    """Rain of the measuring periods that ended after ``start_s`` and not after ``end_s``.

    Arrays of shape (periods,): UTC seconds of each period's end and its fall. A period that
    reaches back before ``start_s`` counts whole. NaN (no reading) counts as no rain; negative
    falls raise ValueError.
    """
    if bool((rain_mm < 0).any()):
        raise ValueError("rain must not be negative")
    inside = (rain_end_s > start_s) & (rain_end_s <= end_s)
    return float(np.nansum(rain_mm[inside]))


def residue(*, applied_s: int, now_s: int, rain_mm: float, settings: CareSettings) -> Residue:
    """Left of an application: what rain spared, times what time left.

    Rain takes away in proportion and all of it at ``washout_rain_mm``; time halves it every
    ``half_life_days``. Raises ValueError for an application that lies ahead.
    """
    if now_s < applied_s:
        raise ValueError("the application lies after now")
    if rain_mm < 0:
        raise ValueError("rain must not be negative")
    days = (now_s - applied_s) / _DAY_S
    spared = max(0.0, 1 - rain_mm / settings.washout_rain_mm)
    share = spared * 0.5 ** (days / settings.half_life_days)
    washed_out = spared == 0
    state = "washed out" if washed_out else f"about {100 * share:.0f} % left"
    return Residue(
        remaining_share=share,
        rain_mm=rain_mm,
        days=days,
        washed_out=washed_out,
        sentence=f"Scent applied {days:.0f} days ago, {rain_mm:.0f} mm of rain since: {state}.",
    )
