"""Deer that hunters saw for each hour of watching: a trend, never a number of deer."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

Floats = NDArray[np.float64]

CONFIDENCE = 0.95
METHOD = (
    "Deer in the reports of sits, for each hour between check-in and check-out. Limits (95 %) "
    "take each sit as one: a ratio of sums with its spread between sits, by Student's t; where "
    "none was seen, the upper limit is 3.0 / hours. The trend is a Poisson regression over the "
    "periods with the spread between sits. The same deer are seen again and again, by other "
    "hunters in other stands each year: compare years hunted alike (same stands, months and way "
    "of reporting), and read a trend out of it, not a number of deer. Deer of unknown sex or age "
    "are a class of their own."
)


class SeenClass(StrEnum):
    BUCK = "buck"
    DOE = "doe"
    FAWN = "fawn"
    UNKNOWN = "unknown"


class Verdict(StrEnum):
    RISING = "rising"
    FALLING = "falling"
    NO_TREND = "no_trend"
    TOO_FEW = "too_few_to_tell"


def seen_class(sex: str, age_class: str) -> SeenClass:
    """A fawn is a fawn of either sex; the others go by sex."""
    if age_class == "fawn":
        return SeenClass.FAWN
    return {"buck": SeenClass.BUCK, "doe": SeenClass.DOE}.get(sex, SeenClass.UNKNOWN)


@dataclass(frozen=True, kw_only=True)
class HourlyRate:
    """Deer an hour over some sits; limits None where the sits are too few to tell."""

    sits: int
    hours: float
    seen: float
    per_hour: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, kw_only=True)
class Trend:
    """Change from one period to the next as a ratio (1.1 is a tenth more), with limits."""

    verdict: Verdict
    ratio: float | None = None
    low: float | None = None
    high: float | None = None


def hourly_rate(seen: ArrayLike, hours: ArrayLike, *, fewest: int) -> HourlyRate:
    """Deer an hour from arrays of shape (sits,).

    The ratio of sums with its usual linearised variance (as in Cochran, Sampling Techniques,
    1977, written from memory): n/(n-1) * sum((y - R h)^2) / (sum h)^2, and Student's t on n - 1
    degrees. Raises ValueError for hours that are not above nought.
    """
    y, h = np.asarray(seen, np.float64), np.asarray(hours, np.float64)
    if bool((h <= 0).any()):
        raise ValueError("hours must be above nought")
    n, total_h, total = len(y), float(h.sum()), float(y.sum())
    if not n:
        return HourlyRate(sits=0, hours=0.0, seen=0.0, per_hour=None, low=None, high=None)
    rate = total / total_h
    low = high = None
    if n >= max(2, fewest):
        if total:
            spread = math.sqrt(n / (n - 1) * float(((y - rate * h) ** 2).sum())) / total_h
            reach = float(stats.t.isf((1 - CONFIDENCE) / 2, n - 1)) * spread
            low, high = max(0.0, rate - reach), rate + reach
        else:
            low, high = 0.0, -math.log1p(-CONFIDENCE) / total_h
    return HourlyRate(sits=n, hours=total_h, seen=total, per_hour=rate, low=low, high=high)


def trend(
    seen: ArrayLike,
    hours: ArrayLike,
    period: ArrayLike,
    *,
    fewest_sits: int,
    fewest_periods: int,
) -> Trend:
    """How the rate changes from one period to the next; arrays of shape (sits,).

    Poisson regression (log link, hours as offset) with the spread of Pearson's residuals, at
    least 1, and Student's t on n - 2 degrees. ``period`` are whole numbers in order of time.
    Periods with fewer than ``fewest_sits`` sits teach nothing.
    """
    y, h = np.asarray(seen, np.float64), np.asarray(hours, np.float64)
    t = np.asarray(period, np.float64)
    full = [one for one in np.unique(t) if (t == one).sum() >= fewest_sits]
    kept = np.isin(t, full)
    y, h, t = y[kept], h[kept], t[kept]
    if len(full) < fewest_periods or len(y) < 3 or not y.sum():
        return Trend(verdict=Verdict.TOO_FEW)
    fitted = _poisson_slope(y, h, t)
    if fitted is None:
        return Trend(verdict=Verdict.TOO_FEW)
    slope, error = fitted
    reach = float(stats.t.isf((1 - CONFIDENCE) / 2, len(y) - 2)) * error
    low, high = math.exp(slope - reach), math.exp(slope + reach)
    verdict = Verdict.RISING if low > 1 else Verdict.FALLING if high < 1 else Verdict.NO_TREND
    return Trend(verdict=verdict, ratio=math.exp(slope), low=low, high=high)


def _poisson_slope(y: Floats, h: Floats, t: Floats) -> tuple[float, float] | None:
    """Slope and its standard error by Newton's method; None where it does not settle."""
    columns = np.column_stack([np.ones_like(t), t - t.mean()])
    beta = np.array([math.log(y.sum() / h.sum()), 0.0])
    for _step in range(100):
        mean = h * np.exp(columns @ beta)
        information = columns.T @ (columns * mean[:, None])
        if not np.isfinite(information).all() or np.linalg.cond(information) > 1e12:
            return None
        step = np.linalg.solve(information, columns.T @ (y - mean))
        beta = beta + np.clip(step, -2.0, 2.0)
        if np.abs(step).max() < 1e-10:
            spread = max(1.0, float(((y - mean) ** 2 / mean).sum()) / (len(y) - 2))
            return float(beta[1]), math.sqrt(spread * float(np.linalg.inv(information)[1, 1]))
    return None


@dataclass(frozen=True, kw_only=True)
class Watched:
    """One reported sit: hours on the stand, deer seen by class, and its period."""

    period: int
    hours: float
    seen: dict[SeenClass, int]


@dataclass(frozen=True, kw_only=True)
class ClassRates:
    """One class through the periods, in order of time, with its trend."""

    seen_class: SeenClass | None
    rates: tuple[HourlyRate, ...]
    trend: Trend


def rates_by_class(
    sits: Sequence[Watched],
    *,
    periods: Sequence[int],
    fewest_sits: int,
    fewest_periods: int,
) -> tuple[ClassRates, ...]:
    """All deer (class None) and each class, period by period."""
    return tuple(
        _class_rates(one, sits, periods, fewest_sits, fewest_periods) for one in (None, *SeenClass)
    )


def _class_rates(
    one: SeenClass | None,
    sits: Sequence[Watched],
    periods: Sequence[int],
    fewest_sits: int,
    fewest_periods: int,
) -> ClassRates:
    seen = [sum(sit.seen.values()) if one is None else sit.seen.get(one, 0) for sit in sits]
    hours = [sit.hours for sit in sits]
    of = [sit.period for sit in sits]
    rates = []
    for period in periods:
        chosen = [index for index, each in enumerate(of) if each == period]
        rates.append(
            hourly_rate(
                [seen[index] for index in chosen],
                [hours[index] for index in chosen],
                fewest=fewest_sits,
            )
        )
    return ClassRates(
        seen_class=one,
        rates=tuple(rates),
        trend=trend(seen, hours, of, fewest_sits=fewest_sits, fewest_periods=fewest_periods),
    )
