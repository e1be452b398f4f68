"""How many visits a scrape should have had, and how unlikely fewer are.

Base rate: gamma, from the cooperative's other scrapes, updated with this scrape's own record.
Expected visits: base rate x season x effort. Nightly visits vary more than pure chance does, so a
record of x visits is worth x / dispersion of them, and the count of a window has variance
``dispersion x mean + (spread of the base rate)``; its tail is taken from the negative binomial
with that mean and variance. With dispersion 1 this is exactly the gamma-Poisson predictive.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special, stats

from scrapes.visits.rates import GammaRate, overdispersion
from scrapes.visits.settings import DropSettings


@dataclass(frozen=True, kw_only=True)
class Prediction:
    """Expected count of a window. ``chance_variance`` is from night to night, ``rate_variance``
    from not knowing the base rate and the season's curve."""

    mean: float
    chance_variance: float
    rate_variance: float

    @property
    def variance(self) -> float:
        return self.chance_variance + self.rate_variance

    def chance_of_at_most(self, count: float) -> float:
        """P(count or fewer); 1 where nothing is expected."""
        if self.mean <= 0:
            return 1.0
        excess = self.variance - self.mean
        if excess <= 1e-9 * self.mean:
            return float(special.pdtr(np.floor(count), self.mean))
        size = self.mean**2 / excess
        # The negative binomial's distribution function, as an incomplete beta function.
        return float(special.betainc(size, np.floor(count) + 1, size / (size + self.mean)))

    def limits(self, *, confidence: float = 0.9) -> tuple[int, int]:
        """Counts between which the window's visits should lie."""
        if self.mean <= 0:
            return 0, 0
        excess = max(self.variance - self.mean, 1e-9 * self.mean)
        size = self.mean**2 / excess
        tail = (1 - confidence) / 2
        low, high = stats.nbinom.ppf([tail, 1 - tail], size, size / (size + self.mean))
        return int(low), int(high)

    def scaled(self, factor: float) -> "Prediction":
        """With the rate multiplied by ``factor`` (>= 0)."""
        return Prediction(
            mean=self.mean * factor,
            chance_variance=self.chance_variance * factor,
            rate_variance=self.rate_variance * factor**2,
        )


def base_rate(prior: GammaRate, *, visits: int, use_nights: float, dispersion: float) -> GammaRate:
    """The scrape's visits per camera-night at the season's height, after its own record.

    ``use_nights`` are camera-nights weighted by the season. Raises ValueError for a dispersion
    below 1.
    """
    if dispersion < 1:
        raise ValueError("dispersion must be at least 1")
    return prior.updated(count=visits / dispersion, effort=use_nights / dispersion)


def predict(
    base: GammaRate, *, use_nights: float, dispersion: float, curve_variance: float = 0.0
) -> Prediction:
    """Visits of a window worth ``use_nights`` season-weighted camera-nights.

    ``curve_variance`` is the relative variance from not knowing the season's curve.
    """
    mean = base.mean * use_nights
    return Prediction(
        mean=mean,
        chance_variance=dispersion * mean,
        rate_variance=mean**2 * (1 / base.shape + curve_variance),
    )


def together(predictions: Iterable[Prediction]) -> Prediction:
    """Several scrapes' windows as one; their base rates are taken as unrelated."""
    items = tuple(predictions)
    return Prediction(
        mean=sum(item.mean for item in items),
        chance_variance=sum(item.chance_variance for item in items),
        rate_variance=sum(item.rate_variance for item in items),
    )


def dispersion_of(
    nightly_visits: ArrayLike,
    nightly_use: ArrayLike,
    *,
    assumed: float,
    assumed_worth_nights: float = 30.0,
) -> float:
    """Dispersion from a scrape's own nights, shrunk to the assumed one; never below 1.

    ``nightly_use`` is the season-weighted effort of each night, same shape. Nights without effort
    are left out. The assumed value counts as much as ``assumed_worth_nights`` nights.
    """
    visits, use = np.asarray(nightly_visits, float), np.asarray(nightly_use, float)
    usable = use > 0
    if usable.sum() < 2 or visits[usable].sum() == 0:
        return max(1.0, assumed)
    own = overdispersion(visits[usable], use[usable])
    weight = own.degrees_of_freedom / (own.degrees_of_freedom + assumed_worth_nights)
    return max(1.0, weight * own.ratio + (1 - weight) * assumed)


def is_drop(visits: float, prediction: Prediction, *, settings: DropSettings) -> bool:
    """So few that chance hardly gives them, and few enough to matter."""
    return (
        visits < settings.ratio_below * prediction.mean
        and prediction.chance_of_at_most(visits) < settings.chance_below
    )
