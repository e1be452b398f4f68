"""Did a refresh work? Visits before and after it, with an interval, and no claim of a cause.

Efforts are camera-nights weighted by the season, so a rate that only follows the season shows no
change. A refresh comes after a low week, and a low week is mostly followed by an ordinary one:
set against scrapes that were not refreshed in the same two spans, that return cancels out.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from scipy import stats

from scrapes.care.settings import CareSettings
from scrapes.visits.rates import compare_rates


class Change(StrEnum):
    MORE = "more"
    FEWER = "fewer"
    NO_CLEAR_CHANGE = "no_clear_change"
    TOO_FEW_TO_TELL = "too_few_to_tell"


@dataclass(frozen=True, kw_only=True)
class BeforeAfter:
    """Visits and season-weighted camera-nights of two spans that do not overlap."""

    visits_before: int
    use_nights_before: float
    visits_after: int
    use_nights_after: float

    def __post_init__(self) -> None:
        if min(self.visits_before, self.visits_after) < 0:
            raise ValueError("visits must not be negative")
        if min(self.use_nights_before, self.use_nights_after) < 0:
            raise ValueError("efforts must not be negative")

    @property
    def visits(self) -> int:
        return self.visits_before + self.visits_after

    @property
    def watched(self) -> bool:
        return self.use_nights_before > 0 and self.use_nights_after > 0


@dataclass(frozen=True, kw_only=True)
class Effect:
    """Rate after over rate before; NaN where nothing can be said, infinite from nothing to some.

    ``against_others`` tells whether it is set against scrapes that were not refreshed.
    """

    change: Change
    ratio: float
    low: float
    high: float
    confidence: float
    against_others: bool
    refreshes: int
    sentence: str


def effect_of_refresh(
    refreshed: BeforeAfter,
    *,
    others: BeforeAfter | None = None,
    dispersion: float = 1.0,
    confidence: float = 0.95,
    settings: CareSettings,
) -> Effect:
    """The change of one scrape, or of several whose counts were added up.

    Without ``others``: ratio of two Poisson rates given their total. With them: the conditional
    odds ratio of the two-by-two table of visits (Fisher), efforts divided out. ``dispersion``
    (variance over mean of nightly visits, at least 1) widens the interval on the log scale by its
    square root.
    """
    return _effect((refreshed,), others, dispersion, confidence, settings)


def effect_of_refreshes(
    refreshes: Iterable[BeforeAfter],
    *,
    others: BeforeAfter | None = None,
    dispersion: float = 1.0,
    confidence: float = 0.95,
    settings: CareSettings,
) -> Effect:
    """Several refreshes pooled, say of one kind of scent or of one property."""
    return _effect(tuple(refreshes), others, dispersion, confidence, settings)


def _effect(
    refreshes: tuple[BeforeAfter, ...],
    others: BeforeAfter | None,
    dispersion: float,
    confidence: float,
    settings: CareSettings,
) -> Effect:
    if dispersion < 1:
        raise ValueError("dispersion must be at least 1")
    pooled = _pooled(refreshes)
    compared = others is not None and others.watched and others.visits > 0
    if not pooled.watched or pooled.visits < settings.effect_minimum_visits:
        ratio = low = high = math.nan
        change = Change.TOO_FEW_TO_TELL
    else:
        ratio, low, high = (
            _against(pooled, others, confidence)
            if compared and others is not None
            else _alone(pooled, confidence)
        )
        low, high = _widened(ratio, low, high, math.sqrt(dispersion))
        change = _change(low, high, settings)
    return Effect(
        change=change,
        ratio=ratio,
        low=low,
        high=high,
        confidence=confidence,
        against_others=compared,
        refreshes=len(refreshes),
        sentence=_sentence(pooled, change, ratio, low, high, compared=compared),
    )


def _pooled(refreshes: tuple[BeforeAfter, ...]) -> BeforeAfter:
    return BeforeAfter(
        visits_before=sum(one.visits_before for one in refreshes),
        use_nights_before=sum(one.use_nights_before for one in refreshes),
        visits_after=sum(one.visits_after for one in refreshes),
        use_nights_after=sum(one.use_nights_after for one in refreshes),
    )


def _alone(pooled: BeforeAfter, confidence: float) -> tuple[float, float, float]:
    found = compare_rates(
        pooled.visits_after,
        pooled.use_nights_after,
        pooled.visits_before,
        pooled.use_nights_before,
        confidence=confidence,
    )
    return found.ratio, found.low, found.high


def _against(
    pooled: BeforeAfter, others: BeforeAfter, confidence: float
) -> tuple[float, float, float]:
    table = [
        [pooled.visits_after, pooled.visits_before],
        [others.visits_after, others.visits_before],
    ]
    found = stats.contingency.odds_ratio(table, kind="conditional")
    interval = found.confidence_interval(confidence_level=confidence)
    by_effort = (others.use_nights_after / others.use_nights_before) / (
        pooled.use_nights_after / pooled.use_nights_before
    )
    return (
        float(found.statistic) * by_effort,
        float(interval.low) * by_effort,
        float(interval.high) * by_effort,
    )


def _widened(ratio: float, low: float, high: float, factor: float) -> tuple[float, float]:
    if not (math.isfinite(ratio) and ratio > 0):
        return low, high
    return (
        ratio * (low / ratio) ** factor if low > 0 else 0.0,
        ratio * (high / ratio) ** factor if math.isfinite(high) else math.inf,
    )


def _change(low: float, high: float, settings: CareSettings) -> Change:
    if math.isnan(low) or math.isnan(high):
        return Change.TOO_FEW_TO_TELL
    if low > 1:
        return Change.MORE
    if high < 1:
        return Change.FEWER
    if high > low * settings.effect_widest_interval:
        return Change.TOO_FEW_TO_TELL
    return Change.NO_CLEAR_CHANGE


def _sentence(
    pooled: BeforeAfter, change: Change, ratio: float, low: float, high: float, *, compared: bool
) -> str:
    counted = (
        f"{pooled.visits_before} visits in {pooled.use_nights_before:.1f} season-weighted "
        f"camera-nights before, {pooled.visits_after} in {pooled.use_nights_after:.1f} after"
    )
    if math.isnan(ratio):
        return f"{counted}: too few visits to tell."
    against = "against scrapes not refreshed" if compared else "for this record alone"
    said = f"{counted}; {against} {ratio:.2f} times as many ({low:.2f} to {high:.2f})"
    if change is Change.TOO_FEW_TO_TELL:
        return f"{said}: too few visits to tell."
    return f"{said}. What was counted, not why."
