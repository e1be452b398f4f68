"""How often the drop test sends somebody for nothing, and how soon it finds a halved rate.

Simulated, seeded. A scrape is watched from 60 nights before the judged season of 130 nights
(75 before to 55 after the peak of breeding; before it use is low, so little is known of its base
rate); every night the last window is judged with what was known before it, and after a reminder
nothing is asked for the length of a window. Nightly counts are negative binomial around
rate x season.

Figures with the default settings, 400 seasons a case (this test runs fewer; "assumed" spread 1.5):

    rate at height   spread   reminders for nothing   halved 35 nights before the peak:
    visits/night     var/mean per scrape and season   found   median delay of those, camera-nights
    0.5              1.5      0.31                     50 %    20
    1                1.5      0.40                     70 %    19
    2                1.5      0.39                     81 %    19
    4                1.5      0.32                     94 %    17
    2                2.5      0.40                     74 %    20
    4                2.5      0.39                     87 %    20

Below one visit a night a halved rate is missed as often as it is found.
"""

import numpy as np
import pytest

from scrapes.visits.drop_model import base_rate, dispersion_of, is_drop, predict
from scrapes.visits.rates import GammaRate
from scrapes.visits.season_curve import relative_use
from scrapes.visits.settings import DropSettings, SeasonSettings

SETTINGS = DropSettings()
CURVE = SeasonSettings()
LEARNED_NIGHTS = 60
DAYS = np.arange(-75 - LEARNED_NIGHTS, 55)
USE = relative_use(DAYS, settings=CURVE)
PRIOR = GammaRate(
    shape=SETTINGS.prior_shape, rate=SETTINGS.prior_shape / SETTINGS.prior_visits_per_night
)
HALVED_ON = -35


def one_season(rng, *, rate, spread, halved):
    mean = rate * USE * np.where(halved & (DAYS >= HALVED_ON), 0.5, 1.0)
    return rng.negative_binomial(mean / (spread - 1), 1 / spread)


def reminders(visits):
    """Days, from the peak, on which somebody would be sent."""
    counted = np.append(0, np.cumsum(visits))
    use = np.append(0.0, np.cumsum(USE))
    sent, quiet_until = [], 0
    for night in range(LEARNED_NIGHTS, len(visits) + 1):
        if night < quiet_until:
            continue
        before = night - SETTINGS.window_nights
        spread = dispersion_of(visits[:before], USE[:before], assumed=SETTINGS.dispersion)
        base = base_rate(PRIOR, visits=counted[before], use_nights=use[before], dispersion=spread)
        window = predict(base, use_nights=use[night] - use[before], dispersion=spread)
        if is_drop(counted[night] - counted[before], window, settings=SETTINGS):
            sent.append(int(DAYS[night - 1]))
            quiet_until = night + SETTINGS.window_nights
    return sent


def simulated(*, rate, spread, seasons, seed=20):
    rng = np.random.default_rng(seed)
    for_nothing = [
        len(reminders(one_season(rng, rate=rate, spread=spread, halved=False)))
        for _ in range(seasons)
    ]
    delays = []
    for _ in range(seasons):
        sent = reminders(one_season(rng, rate=rate, spread=spread, halved=True))
        after = [day for day in sent if day >= HALVED_ON]
        delays.append(after[0] - HALVED_ON + 1 if after else np.inf)
    return float(np.mean(for_nothing)), np.array(delays)


@pytest.mark.parametrize(
    ("rate", "spread"), [(1.0, 1.5), (2.0, 1.5), (4.0, 1.5), (2.0, 2.5), (4.0, 2.5)]
)
def test_at_most_one_reminder_for_nothing_per_scrape_and_season(rate, spread):
    for_nothing, _ = simulated(rate=rate, spread=spread, seasons=25)
    assert for_nothing <= 1


def test_a_halved_rate_is_found_within_a_month_of_camera_nights():
    _, delays = simulated(rate=4.0, spread=1.5, seasons=30)
    assert (delays <= 30).mean() >= 0.7
    assert np.isfinite(delays).mean() >= 0.85


def test_a_vanished_scrape_is_found_almost_always():
    rng = np.random.default_rng(4)
    found = 0
    for _ in range(20):
        visits = one_season(rng, rate=2.0, spread=1.5, halved=False)
        visits[DAYS >= HALVED_ON] = 0
        found += any(HALVED_ON <= day <= HALVED_ON + 21 for day in reminders(visits))
    assert found >= 19
