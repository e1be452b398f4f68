"""Visit rates with exact limits, comparison of two rates, and what other scrapes teach."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special, stats

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Rate:
    """Visits per 100 camera-nights with exact limits; NaN throughout where nothing was watched."""

    visits: int
    camera_nights: float
    per_100: float
    low_per_100: float
    high_per_100: float
    confidence: float


@dataclass(frozen=True, kw_only=True)
class RateComparison:
    """First rate over second: ratio with exact limits, and the conditional test's chances.

    ``p_two_sided`` doubles the smaller tail (at most 1), in keeping with the limits.
    """

    ratio: float
    low: float
    high: float
    p_two_sided: float
    p_first_greater: float
    confidence: float


def poisson_limits(count: ArrayLike, *, confidence: float = 0.95) -> tuple[Floats, Floats]:
    """Exact limits of a Poisson mean (Garwood 1936), any shape.

    chi-square(a/2; 2k)/2 and chi-square(1-a/2; 2k+2)/2; the lower one is 0 when none was seen.
    Raises ValueError for a negative count or a confidence outside (0, 1).
    """
    counts = np.asarray(count, dtype=np.float64)
    if bool((counts < 0).any()):
        raise ValueError("a count must not be negative")
    if not 0 < confidence < 1:
        raise ValueError("confidence must lie between 0 and 1")
    tail = (1 - confidence) / 2
    # chi-square with no degrees of freedom is a point at 0; the library answers NaN.
    low = np.where(counts > 0, stats.chi2.ppf(tail, np.maximum(2 * counts, 1)) / 2, 0.0)
    high = stats.chi2.isf(tail, 2 * counts + 2) / 2
    return low, np.asarray(high)


def upper_limit_when_none_seen(camera_nights: float, *, confidence: float = 0.95) -> float:
    """One-sided limit of a rate when nothing came: -ln(1 - confidence) / effort."""
    if camera_nights <= 0:
        raise ValueError("camera-nights must be above nought")
    return float(-np.log1p(-confidence) / camera_nights)


def visit_rate(visits: int, camera_nights: float, *, confidence: float = 0.95) -> Rate:
    """Visits per 100 camera-nights; raises ValueError for a negative figure."""
    if camera_nights < 0:
        raise ValueError("camera-nights must not be negative")
    low, high = poisson_limits(visits, confidence=confidence)
    per = 100 / camera_nights if camera_nights > 0 else float("nan")
    return Rate(
        visits=visits,
        camera_nights=camera_nights,
        per_100=visits * per,
        low_per_100=float(low) * per,
        high_per_100=float(high) * per,
        confidence=confidence,
    )


def compare_rates(
    first_count: int,
    first_effort: float,
    second_count: int,
    second_effort: float,
    *,
    confidence: float = 0.95,
) -> RateComparison:
    """Two Poisson rates, given their total (Przyborowski & Wilenski 1940).

    Given the total the first count is binomial; Clopper-Pearson limits of its share become limits
    of the ratio. The ratio is infinite when only the second count is 0, NaN when both are.
    Raises ValueError unless both efforts are above 0 and the counts not negative.
    """
    if first_effort <= 0 or second_effort <= 0:
        raise ValueError("both efforts must be above nought")
    if first_count < 0 or second_count < 0:
        raise ValueError("a count must not be negative")
    total = first_count + second_count
    share = first_effort / (first_effort + second_effort)
    at_least = float(stats.binom.sf(first_count - 1, total, share))
    at_most = float(stats.binom.cdf(first_count, total, share))
    tail = (1 - confidence) / 2
    low = float(stats.beta.ppf(tail, first_count, second_count + 1)) if first_count else 0.0
    high = float(stats.beta.isf(tail, first_count + 1, second_count)) if second_count else 1.0
    per_effort = second_effort / first_effort
    return RateComparison(
        ratio=_ratio(first_count, second_count) * per_effort,
        low=low / (1 - low) * per_effort,
        high=high / (1 - high) * per_effort if high < 1 else float("inf"),
        p_two_sided=min(1.0, 2 * min(at_least, at_most)),
        p_first_greater=at_least,
        confidence=confidence,
    )


def _ratio(first: int, second: int) -> float:
    if second:
        return first / second
    return float("inf") if first else float("nan")


@dataclass(frozen=True, kw_only=True)
class GammaRate:
    """What is believed of a rate: a gamma distribution with a shape and a rate (an effort)."""

    shape: float
    rate: float

    def __post_init__(self) -> None:
        if not (self.shape > 0 and self.rate > 0):
            raise ValueError("shape and rate of a gamma distribution must be above nought")

    @property
    def mean(self) -> float:
        return self.shape / self.rate

    def updated(self, *, count: float, effort: float) -> "GammaRate":
        """After ``count`` visits in ``effort``; conjugate to Poisson counts."""
        if count < 0 or effort < 0:
            raise ValueError("count and effort must not be negative")
        return GammaRate(shape=self.shape + count, rate=self.rate + effort)

    def limits(self, *, confidence: float = 0.95) -> tuple[float, float]:
        tail = (1 - confidence) / 2
        scale = 1 / self.rate
        return (
            float(stats.gamma.ppf(tail, self.shape, scale=scale)),
            float(stats.gamma.isf(tail, self.shape, scale=scale)),
        )

    def chance_above(self, rate: float) -> float:
        return float(stats.gamma.sf(rate, self.shape, scale=1 / self.rate))


def prior_from_others(
    counts: ArrayLike,
    efforts: ArrayLike,
    *,
    fallback: GammaRate,
    shape_maximum: float,
    minimum_scrapes: int = 3,
) -> GammaRate:
    """A gamma prior for one scrape's rate from the cooperative's other scrapes.

    Moments: mean m = sum(x)/sum(E); the spread between scrapes is the part of
    sum E(x/E - m)^2 that Poisson chance does not explain (DerSimonian & Laird's moment estimator
    with Poisson variances; from memory). With too few scrapes, or none ever visited, the fallback.
    ``counts`` and ``efforts`` have shape (scrapes,); scrapes never watched are left out.
    """
    count, effort = np.asarray(counts, dtype=np.float64), np.asarray(efforts, dtype=np.float64)
    watched = effort > 0
    count, effort = count[watched], effort[watched]
    if len(count) < minimum_scrapes or count.sum() == 0:
        return fallback
    total = effort.sum()
    mean = float(count.sum() / total)
    excess = float((effort * (count / effort - mean) ** 2).sum()) - (len(count) - 1) * mean
    between = excess / float(total - (effort**2).sum() / total)
    shape = shape_maximum if between <= 0 else min(mean**2 / between, shape_maximum)
    return GammaRate(shape=shape, rate=shape / mean)


@dataclass(frozen=True, kw_only=True)
class Overdispersion:
    """D = sum((x - m)^2 / m) on n - 1 degrees of freedom; ``ratio`` is D / (n - 1)."""

    statistic: float
    degrees_of_freedom: int
    ratio: float
    p: float


def overdispersion(counts: ArrayLike, expected: ArrayLike | None = None) -> Overdispersion:
    """Do counts vary more than chance (Fisher's index of dispersion)?

    ``expected`` gives relative expectations (effort times season); without it they are equal. It
    is scaled to the counts' total, which costs one degree of freedom. Raises ValueError with
    fewer than two counts or none above 0.
    """
    count = np.asarray(counts, dtype=np.float64)
    weight = np.ones_like(count) if expected is None else np.asarray(expected, dtype=np.float64)
    usable = weight > 0
    count, weight = count[usable], weight[usable]
    if len(count) < 2 or count.sum() == 0:
        raise ValueError("dispersion needs at least two counts and something counted")
    fitted = weight * count.sum() / weight.sum()
    statistic = float(((count - fitted) ** 2 / fitted).sum())
    freedom = len(count) - 1
    return Overdispersion(
        statistic=statistic,
        degrees_of_freedom=freedom,
        ratio=statistic / freedom,
        p=float(special.chdtrc(freedom, statistic)),
    )
