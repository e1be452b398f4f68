"""Fit the season's curve to a cooperative's own visits, held against the curve of practice.

Visits of row i (one scrape in one season with one camera set-up) on day d are taken as
quasi-Poisson: mean ``rate_i x effort_id x use(d)``, variance ``dispersion`` times that. The rates
are nuisances: given each row's total its visits are multinomial over its days, which removes them
exactly (for Poisson counts the profile and the conditional likelihood agree). The seven figures
of the curve have normal priors around the settings, days as they are, widths and levels as
logarithms; the greatest posterior is sought, so with few visits the settings come back.

Uncertainty: the curvature there (Laplace), with the expected information divided by the
dispersion, as in quasi-likelihood (McCullagh & Nelder 1989, ch. 9; from memory). The dispersion
is measured on weeks, since one night is like the next, of each row and of each property: what all
scrapes of a property do together is one surprise, not as many as it has scrapes.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import optimize

from scrapes.visits.season_curve import relative_use
from scrapes.visits.season_curve_prior import FIGURES, CurvePrior
from scrapes.visits.season_curve_settings import SeasonFitSettings
from scrapes.visits.settings import SeasonSettings

Integers = NDArray[np.int64]
Floats = NDArray[np.float64]

_WEEK = 7
_ASSUMED_WORTH_WEEKS = 30
_ROUNDS = 3
_STARTS_OF_LEAD = (0.0, -1.5, 1.5)


@dataclass(frozen=True, kw_only=True, eq=False)
class SeasonCounts:
    """``visits`` and ``camera_nights`` of shape (rows, days); ``days`` from the peak, rising by 1.

    A row is one scrape, in one season, with one camera set-up; ``groups`` (rows,) tells which
    rows belong to one property in one season, ``scrapes`` (rows,) which to one scrape.
    """

    days: Integers
    visits: Integers
    camera_nights: Floats
    groups: Integers
    scrapes: Integers

    def __post_init__(self) -> None:
        shape = (len(self.groups), len(self.days))
        if not (self.visits.shape == self.camera_nights.shape == shape):
            raise ValueError("visits and camera-nights need a row each and a column a day")
        if len(self.scrapes) != len(self.groups) or bool((np.diff(self.days) != 1).any()):
            raise ValueError("days must rise by one, and every row belong to a scrape")
        if bool((self.visits < 0).any() or (self.camera_nights < 0).any()):
            raise ValueError("visits and camera-nights must not be negative")

    def told(self) -> "SeasonCounts":
        """Only rows that tell of the curve, only visits that somebody watched for."""
        visits = np.where(self.camera_nights > 0, self.visits, 0)
        kept = visits.sum(axis=1) > 0
        return SeasonCounts(
            days=self.days,
            visits=visits[kept],
            camera_nights=self.camera_nights[kept],
            groups=self.groups[kept],
            scrapes=self.scrapes[kept],
        )


@dataclass(frozen=True, kw_only=True)
class FittedFigure:
    """One figure of the curve: as set, as fitted, and the limits within which it may well lie."""

    name: str
    setting: float
    value: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True, eq=False)
class FittedSeason:
    """The fitted curve. ``place`` (7,) and ``covariance`` (7, 7) are in spreads of the prior.

    ``rates`` (rows,) are visits a camera-night at the season's height of the rows of ``counts``,
    which are those that told something.
    """

    settings: SeasonSettings
    figures: tuple[FittedFigure, ...]
    place: Floats
    covariance: Floats
    dispersion: float
    rates: Floats
    counts: SeasonCounts
    confidence: float
    draws: tuple[SeasonSettings, ...]

    def band(self, days: Floats) -> tuple[Floats, Floats, Floats]:
        """Use on ``days`` (any shape) with its lower and upper limits, day by day."""
        drawn = [relative_use(days, settings=one) for one in self.draws]
        low, high = np.quantile(drawn, _tails(self.confidence), axis=0)
        return relative_use(days, settings=self.settings), low, high


def fit_season(
    counts: SeasonCounts,
    *,
    prior: SeasonSettings,
    assumed_dispersion: float,
    settings: SeasonFitSettings,
    confidence: float = 0.9,
) -> FittedSeason:
    """The curve of greatest posterior; without any visit it is the prior with the prior's spread.

    Raises ValueError for an assumed dispersion below 1.
    """
    if assumed_dispersion < 1:
        raise ValueError("dispersion must be at least 1")
    told = counts.told()
    curve = CurvePrior(prior, settings)
    place, dispersion = np.zeros(len(FIGURES)), assumed_dispersion
    starts = [np.array([lead, *place[1:]]) for lead in _STARTS_OF_LEAD]
    for _round in range(_ROUNDS if len(told.visits) else 0):
        place = _best(told, curve, dispersion, starts)
        starts = [place]
        use = relative_use(told.days, settings=curve.settings_at(place))
        measured = dispersion_of_weeks(told, use, assumed=assumed_dispersion)
        if abs(measured - dispersion) < 0.01 * dispersion:
            break
        dispersion = measured
    best = curve.settings_at(place)
    known = information(
        told, relative_use(told.days, settings=best), curve.slopes(place, told.days)
    )
    covariance: Floats = np.linalg.inv(np.eye(len(FIGURES)) + known / dispersion).astype(np.float64)
    draws = curve.draws(place, covariance)
    return FittedSeason(
        settings=best,
        figures=_figures(prior, best, draws, confidence),
        place=place,
        covariance=covariance,
        dispersion=dispersion,
        rates=_rates(told, relative_use(told.days, settings=best)),
        counts=told,
        confidence=confidence,
        draws=draws,
    )


def _best(
    told: SeasonCounts, curve: CurvePrior, dispersion: float, starts: Iterable[Floats]
) -> Floats:
    by_day, totals = told.visits.sum(axis=0), told.visits.sum(axis=1)

    def surprise(place: Floats) -> float:
        use = relative_use(told.days, settings=curve.settings_at(place))
        profile = by_day @ np.log(use) - totals @ np.log(told.camera_nights @ use)
        return float(-profile / dispersion + 0.5 * place @ place)

    found = [
        optimize.minimize(surprise, start, method="L-BFGS-B", bounds=curve.bounds)
        for start in starts
    ]
    return np.asarray(min(found, key=lambda one: one.fun).x)


def information(told: SeasonCounts, use: Floats, slopes: Floats) -> Floats:
    """Expected information of Poisson counts about the curve, the rows' rates profiled out.

    ``use`` (days,) and ``slopes`` (days, figures), d log use / d figure, at the fitted curve;
    answers (figures, figures), zeros where nothing was seen.
    """
    expected = _rates(told, use)[:, None] * told.camera_nights * use
    by_row = expected @ slopes
    weight = 1 / expected.sum(axis=1)
    return np.asarray(
        slopes.T @ (expected.sum(axis=0)[:, None] * slopes) - by_row.T @ (weight[:, None] * by_row)
    )


def dispersion_of_weeks(told: SeasonCounts, use: Floats, *, assumed: float) -> float:
    """Variance over mean of weekly counts, of each row and of each property; the larger counts.

    Each is shrunk to the assumed one, which is worth thirty weeks; never below 1. Weeks in which
    less than one visit is expected are left out: their ratio says next to nothing.
    """
    begins = np.arange(0, len(told.days), _WEEK)
    expected = np.add.reduceat(
        _rates(told, use)[:, None] * told.camera_nights * use, begins, axis=1
    )
    counted = np.add.reduceat(told.visits.astype(np.float64), begins, axis=1)
    member = (told.groups[None, :] == np.unique(told.groups)[:, None]).astype(np.float64)
    return max(
        1.0,
        _shrunk_ratio(counted, expected, assumed),
        _shrunk_ratio(member @ counted, member @ expected, assumed),
    )


def _shrunk_ratio(counted: Floats, expected: Floats, assumed: float) -> float:
    usable = expected >= 1
    freedom = int(usable.sum()) - len(counted) - len(FIGURES)
    if freedom < 1:
        return assumed
    pearson = float((((counted - expected) ** 2)[usable] / expected[usable]).sum())
    weight = freedom / (freedom + _ASSUMED_WORTH_WEEKS)
    return weight * pearson / freedom + (1 - weight) * assumed


def _rates(told: SeasonCounts, use: Floats) -> Floats:
    return np.asarray(told.visits.sum(axis=1) / (told.camera_nights @ use))


def _figures(
    prior: SeasonSettings,
    best: SeasonSettings,
    draws: Iterable[SeasonSettings],
    confidence: float,
) -> tuple[FittedFigure, ...]:
    drawn = list(draws)
    tails = _tails(confidence)
    found = []
    for name in FIGURES:
        low, high = np.quantile([getattr(one, name) for one in drawn], tails)
        found.append(
            FittedFigure(
                name=name,
                setting=float(getattr(prior, name)),
                value=float(getattr(best, name)),
                low=float(low),
                high=float(high),
            )
        )
    return tuple(found)


def _tails(confidence: float) -> tuple[float, float]:
    return (1 - confidence) / 2, (1 + confidence) / 2
