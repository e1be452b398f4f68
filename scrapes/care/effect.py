"""Did a refresh work? Visits before and after it, with an interval, and no claim of a cause.

Efforts are camera-nights weighted by the season, so a rate that only follows the season shows no
change. A refresh comes after a low week, and a low week is mostly followed by an ordinary one:
set against scrapes that were not refreshed in the same two spans, that return cancels out.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from scrapes.care.common_ratio import Table, common_ratio
from scrapes.care.settings import CareSettings


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
    """The change of one scrape.

    Without ``others``: ratio of two Poisson rates given their total. With them: the conditional
    odds ratio of the two-by-two table of visits (Fisher), efforts divided out. ``dispersion``
    (variance over mean of nightly visits, at least 1) widens the interval on the log scale by its
    square root.
    """
    return effect_of_refreshes(
        [(refreshed, others)], dispersion=dispersion, confidence=confidence, settings=settings
    )


def effect_of_refreshes(
    refreshes: Iterable[tuple[BeforeAfter, BeforeAfter | None]],
    *,
    dispersion: float = 1.0,
    confidence: float = 0.95,
    settings: CareSettings,
) -> Effect:
    """Several refreshes pooled, say of one kind of scent or of one property, each with the scrapes
    it is set against.

    Each is a stratum of its own; one that was not watched before and after, or had no visit, says
    nothing. It counts as set against others only where every one that says something is.
    """
    if dispersion < 1:
        raise ValueError("dispersion must be at least 1")
    every = list(refreshes)
    told = [pair for pair in every if pair[0].watched and pair[0].visits]
    compared = bool(told) and all(_is_comparison(others) for _own, others in told)
    pooled = _pooled([own for own, _others in told])
    if pooled.visits < settings.effect_minimum_visits:
        ratio = low = high = math.nan
        change = Change.TOO_FEW_TO_TELL
    else:
        tables = [_table(own, others if compared else None) for own, others in told]
        ratio, low, high = common_ratio(tables, confidence=confidence)
        low, high = _widened(ratio, low, high, math.sqrt(dispersion))
        change = _change(low, high, settings)
    return Effect(
        change=change,
        ratio=ratio,
        low=low,
        high=high,
        confidence=confidence,
        against_others=compared,
        refreshes=len(every),
        sentence=_sentence(pooled, change, ratio, low, high, compared=compared),
    )


def _is_comparison(others: BeforeAfter | None) -> bool:
    return others is not None and others.watched and others.visits > 0


def _table(own: BeforeAfter, others: BeforeAfter | None) -> Table:
    efforts = own.use_nights_after / own.use_nights_before
    if others is None:
        return Table(before=own.visits_before, after=own.visits_after, effort_ratio=efforts)
    return Table(
        before=own.visits_before,
        after=own.visits_after,
        effort_ratio=efforts / (others.use_nights_after / others.use_nights_before),
        others=(others.visits_before, others.visits_after),
    )


def _pooled(refreshes: Sequence[BeforeAfter]) -> BeforeAfter:
    return BeforeAfter(
        visits_before=sum(one.visits_before for one in refreshes),
        use_nights_before=sum(one.use_nights_before for one in refreshes),
        visits_after=sum(one.visits_after for one in refreshes),
        use_nights_after=sum(one.use_nights_after for one in refreshes),
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
