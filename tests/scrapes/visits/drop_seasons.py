"""Seasons of one scrape, seeded, judged night after night as a review would.

A scrape is watched from 60 nights before the judged season of 130 nights (75 before to 55 after
the peak of breeding; before it use is low, so little is known of its base rate). Every night the
last window is judged by what was known before it; after a reminder nothing is asked for the
length of a window. Nightly counts are negative binomial around rate x season.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from scrapes.visits.drop import judge_drop
from scrapes.visits.drop_model import base_rate, dispersion_of, is_drop, predict
from scrapes.visits.drop_question import DropQuestion, Errand, OtherScrape
from scrapes.visits.rates import GammaRate
from scrapes.visits.season_curve import relative_use
from scrapes.visits.season_curve_spread import curve_variance
from scrapes.visits.settings import DropSettings, SeasonSettings

SETTINGS = DropSettings()
CURVE = SeasonSettings()
LEARNED_NIGHTS = 60
DAYS = np.arange(-75 - LEARNED_NIGHTS, 55)
PRIOR = GammaRate(
    shape=SETTINGS.prior_shape, rate=SETTINGS.prior_shape / SETTINGS.prior_visits_per_night
)
HALVED_ON = -35
CASES = ((0.5, 1.5), (1.0, 1.5), (2.0, 1.5), (4.0, 1.5), (2.0, 2.5), (4.0, 2.5))
"""Visits a night at the height, and their variance over mean."""

STEADY = np.ones(len(DAYS))
HALVED = np.where(DAYS >= HALVED_ON, 0.5, 1.0)
VANISHED = np.where(DAYS >= HALVED_ON, 0.0, 1.0)
# Left bit by bit: three in four visits gone after four weeks.
DECLINING = np.clip(1 - 0.75 * (DAYS - HALVED_ON) / 28, 0.25, 1.0)


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """``for_nothing`` (seasons,) reminders of steady seasons, ``delays`` (seasons,) camera-nights
    from the fall to the reminder, infinite where none came."""

    for_nothing: np.ndarray
    delays: np.ndarray

    @property
    def found(self):
        return float(np.isfinite(self.delays).mean())

    @property
    def median_of_found(self):
        return float(np.median(self.delays[np.isfinite(self.delays)]))

    def found_within(self, nights):
        return float((self.delays <= nights).mean())


def one_season(rng, *, rate, spread, level=STEADY, truth=CURVE):
    mean = rate * relative_use(DAYS, settings=truth) * level
    visits = np.zeros(len(DAYS), dtype=np.int64)
    come = mean > 0
    visits[come] = rng.negative_binomial(mean[come] / (spread - 1), 1 / spread)
    return visits


@dataclass(frozen=True, kw_only=True, eq=False)
class Judge:
    """What every night of a season expects, by the curve assumed; draws tell how little it knows
    of that curve, and none take it as known."""

    assumed: SeasonSettings = CURVE
    draws: tuple[SeasonSettings, ...] = ()

    @cached_property
    def use(self):
        return relative_use(DAYS, settings=self.assumed)

    @cached_property
    def curve_variances(self):
        ones = np.ones(len(DAYS))
        return {
            night: curve_variance(
                ones[:night],
                DAYS[:night],
                first=night - SETTINGS.window_nights,
                draws=self.draws,
            )
            for night in range(LEARNED_NIGHTS, len(DAYS) + 1)
        }

    def window(self, visits, night):
        """Visits of the window that ends before ``night``, and what was known before it."""
        before = night - SETTINGS.window_nights
        seen, use = visits[:before], self.use[:before]
        spread = dispersion_of(seen, use, assumed=SETTINGS.dispersion)
        base = base_rate(PRIOR, visits=seen.sum(), use_nights=use.sum(), dispersion=spread)
        question = DropQuestion(
            scrape="this one",
            visits=int(visits[before:night].sum()),
            camera_nights=float(SETTINGS.window_nights),
            use_nights=float(self.use[before:night].sum()),
            base=base,
            dispersion=spread,
            curve_variance=self.curve_variances[night],
        )
        expected = predict(
            base,
            use_nights=question.use_nights,
            dispersion=spread,
            curve_variance=question.curve_variance,
        )
        return question, expected

    def sends_somebody(self, visits, night, others):
        question, expected = self.window(visits, night)
        if not is_drop(question.visits, expected, settings=SETTINGS):
            return False
        if not others:
            return True
        told = tuple(self._other(one, night) for one in others)
        verdict = judge_drop(replace(question, others=told), settings=SETTINGS)
        return verdict.errand is Errand.REFRESH_SCRAPE

    def _other(self, visits, night):
        question, expected = self.window(visits, night)
        return OtherScrape(
            name="another", visits=question.visits, prediction=expected, distance_m=900.0
        )


def reminders(visits, *, judge=None, others=()):
    """Days, from the peak, on which somebody would be sent; ``others`` are the nightly visits of
    the property's other scrapes, of which the whole-property question is asked."""
    judge = judge or Judge()
    sent, quiet_until = [], 0
    for night in range(LEARNED_NIGHTS, len(visits) + 1):
        if night >= quiet_until and judge.sends_somebody(visits, night, others):
            sent.append(int(DAYS[night - 1]))
            quiet_until = night + SETTINGS.window_nights
    return sent


def simulated(*, rate, spread, seasons, fall=HALVED, truth=CURVE, judge=None, others=0, seed=20):
    """Steady seasons, then as many in which visits fall from ``HALVED_ON`` on."""
    rng = np.random.default_rng(seed)
    judge = judge or Judge()
    world = {"rate": rate, "spread": spread, "truth": truth}

    def sent(level):
        visits = one_season(rng, **world, level=level)
        return reminders(
            visits, judge=judge, others=[one_season(rng, **world) for _ in range(others)]
        )

    for_nothing = [len(sent(STEADY)) for _ in range(seasons)]
    delays = []
    for _ in range(seasons):
        after = [day for day in sent(fall) if day >= HALVED_ON]
        delays.append(after[0] - HALVED_ON + 1 if after else np.inf)
    return Outcome(for_nothing=np.array(for_nothing), delays=np.array(delays))
