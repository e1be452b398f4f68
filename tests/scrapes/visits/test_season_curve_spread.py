"""What is not known of the season's curve widens what may be expected of a window."""

from dataclasses import replace

import numpy as np
import pytest

from scrapes.visits.drop_model import predict
from scrapes.visits.rates import GammaRate
from scrapes.visits.season_curve import relative_use
from scrapes.visits.season_curve_spread import curve_variance
from scrapes.visits.settings import SeasonSettings

PRACTICE = SeasonSettings()
DAYS = np.arange(-80, -10)
NIGHTS = np.ones(len(DAYS))
DRAWS = [replace(PRACTICE, lead_days=float(lead)) for lead in (7, 14, 21)]


def test_it_is_the_variance_of_the_log_of_window_over_before():
    uses = [relative_use(DAYS, settings=draw) for draw in DRAWS]
    by_hand = np.var([np.log(use[49:].sum() / use[:49].sum()) for use in uses])
    assert curve_variance(NIGHTS, DAYS, first=49, draws=DRAWS) == pytest.approx(by_hand)
    assert by_hand > 0.05


def test_a_curve_taken_as_known_and_a_record_of_one_part_add_nothing():
    assert curve_variance(NIGHTS, DAYS, first=49, draws=[]) == 0
    assert curve_variance(NIGHTS, DAYS, first=0, draws=DRAWS) == 0
    assert curve_variance(NIGHTS, DAYS, first=len(DAYS), draws=DRAWS) == 0


def test_it_widens_the_prediction_and_leaves_its_mean():
    base = GammaRate(shape=50, rate=25)
    known = predict(base, use_nights=10, dispersion=1.5)
    guessed = predict(base, use_nights=10, dispersion=1.5, curve_variance=0.04)
    assert guessed.mean == known.mean == 20
    assert guessed.variance - known.variance == pytest.approx(0.04 * 20**2)
    assert guessed.chance_of_at_most(10) > known.chance_of_at_most(10)
