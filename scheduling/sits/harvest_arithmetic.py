"""Harvest in figures: against the plan, for each hunter-day, by sex seen, weights by age."""

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scipy import stats

from scrapes.visits.rates import poisson_limits

CONFIDENCE = 0.95


@dataclass(frozen=True, kw_only=True)
class Counted:
    """Deer of one plan: ``unsexed`` may be of its sex, since nobody told theirs."""

    planned: int
    taken: int
    unsexed: int = 0

    @property
    def at_most(self) -> int:
        return self.taken + self.unsexed

    @property
    def left(self) -> int:
        """What may still be taken, if every deer of unknown sex was of this one."""
        return max(0, self.planned - self.at_most)

    @property
    def over(self) -> int:
        return max(0, self.taken - self.planned)

    @property
    def is_filled(self) -> bool:
        return self.at_most >= self.planned


@dataclass(frozen=True, kw_only=True)
class PerDay:
    """Deer for each hunter-day with exact Poisson limits (Garwood 1936); None without days."""

    deer: int
    hunter_days: int
    rate: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, kw_only=True)
class SexRatio:
    """Does for each buck seen, with limits; None where no buck or no doe bounds it.

    ``unknown`` deer stay out of the ratio and are told.
    """

    bucks: int
    does: int
    unknown: int
    does_per_buck: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, kw_only=True)
class Weighed:
    sex: str
    age_years: float | None
    dressed_weight_kg: float


@dataclass(frozen=True, kw_only=True)
class WeightOfAge:
    """Mean dressed weight in kg of one sex and age class, with limits of the mean.

    ``too_few`` says that no mean is told of so few.
    """

    sex: str
    age_class: str
    n: int
    mean_kg: float | None
    low_kg: float | None
    high_kg: float | None

    @property
    def too_few(self) -> bool:
        return self.mean_kg is None


def per_hunter_day(deer: int, hunter_days: int) -> PerDay:
    """Deer taken for each day on which a person hunted."""
    if hunter_days <= 0:
        return PerDay(deer=deer, hunter_days=0, rate=None, low=None, high=None)
    low, high = poisson_limits(deer, confidence=CONFIDENCE)
    return PerDay(
        deer=deer,
        hunter_days=hunter_days,
        rate=deer / hunter_days,
        low=float(low) / hunter_days,
        high=float(high) / hunter_days,
    )


def sex_ratio(bucks: int, does: int, unknown: int) -> SexRatio:
    """Does per buck with exact limits (Clopper and Pearson 1934) of the share of does.

    The limits take deer as seen one by one; deer come in groups and are seen again, so true
    limits are wider.
    """
    known = bucks + does
    low = high = None
    if known:
        tail = (1 - CONFIDENCE) / 2
        share_low = float(stats.beta.ppf(tail, does, bucks + 1)) if does else 0.0
        share_high = float(stats.beta.isf(tail, does + 1, bucks)) if bucks else 1.0
        low = share_low / (1 - share_low)
        high = share_high / (1 - share_high) if share_high < 1 else None
    return SexRatio(
        bucks=bucks,
        does=does,
        unknown=unknown,
        does_per_buck=does / bucks if bucks else None,
        low=low,
        high=high,
    )


def limits_of_mean(n: int, mean: float, sd: float) -> tuple[float, float]:
    """95 % limits of a mean by Student's t (1908) on n - 1 degrees; raises ValueError below 2."""
    if n < 2:
        raise ValueError("a spread needs two values")
    reach = float(stats.t.isf((1 - CONFIDENCE) / 2, n - 1)) * sd / math.sqrt(n)
    return mean - reach, mean + reach


def weights_by_age(
    weighed: Iterable[Weighed], *, fawn_until_years: float, fewest: int
) -> tuple[WeightOfAge, ...]:
    """Dressed weights by sex and age class; ages of whole seasons are told as .5."""
    groups: dict[tuple[str, str], list[float]] = defaultdict(list)
    for one in weighed:
        groups[one.sex, age_class(one.age_years, fawn_until_years)].append(one.dressed_weight_kg)
    return tuple(_weight(sex, age, values, fewest) for (sex, age), values in sorted(groups.items()))


def age_class(age_years: float | None, fawn_until_years: float) -> str:
    """fawn, 1.5, 2.5, 3.5, 4.5+, or unknown.

    Tooth wear tells older deer apart badly, so they stand together.
    """
    if age_years is None:
        return "unknown"
    if age_years < fawn_until_years:
        return "fawn"
    whole = max(1, math.floor(age_years))
    return f"{whole}.5" if whole < 4 else "4.5+"


def _weight(sex: str, age: str, values: Sequence[float], fewest: int) -> WeightOfAge:
    n = len(values)
    if n < max(2, fewest):
        return WeightOfAge(sex=sex, age_class=age, n=n, mean_kg=None, low_kg=None, high_kg=None)
    mean = math.fsum(values) / n
    sd = math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (n - 1))
    low, high = limits_of_mean(n, mean, sd)
    return WeightOfAge(sex=sex, age_class=age, n=n, mean_kg=mean, low_kg=low, high_kg=high)
