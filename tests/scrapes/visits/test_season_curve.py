"""The season hangs on the peak of breeding (shape: common practice, no source)."""

import numpy as np
import pytest

from scrapes.visits.season_curve import days_from_peak, relative_use, use_nights
from scrapes.visits.settings import SeasonSettings

CURVE = SeasonSettings()
DAYS = np.arange(-183, 183)
USE = relative_use(DAYS, settings=CURVE)


def use_on(day, settings=CURVE):
    return float(relative_use(day, settings=settings))


def test_use_climbs_until_before_the_peak_falls_at_it_and_rises_once_more():
    assert DAYS[USE.argmax()] == -CURVE.lead_days
    rising = (DAYS >= -60) & (DAYS + CURVE.lead_days <= 0)
    assert (np.diff(USE[rising]) > 0).all()
    assert use_on(0) < use_on(-CURVE.lead_days)
    assert use_on(0) < use_on(CURVE.second_lag_days) < use_on(-CURVE.lead_days)


def test_use_is_low_outside_the_season_and_never_nothing():
    assert USE.min() >= CURVE.off_season_level
    assert use_on(180) == pytest.approx(CURVE.off_season_level, abs=1e-6)


def test_the_lead_is_a_setting_because_studies_disagree():
    together = SeasonSettings(lead_days=0)
    curve = relative_use(DAYS, settings=together)
    assert DAYS[curve.argmax()] == 0


def test_the_height_of_the_climb_is_one():
    assert USE.max() == pytest.approx(1)


def test_days_are_counted_from_the_nearest_peak_across_the_turn_of_the_year():
    days = np.array(["2025-01-05", "2024-12-30", "2025-11-10"], dtype="datetime64[D]")
    assert days_from_peak(days, peak_month=1, peak_day=15).tolist() == [-10, -16, -66]
    assert days_from_peak(days, peak_month=11, peak_day=15).tolist() == [51, 45, -5]


def test_a_peak_on_leap_day_stands_on_the_28th_and_no_such_day_is_refused():
    day = np.datetime64("2025-02-28")
    assert days_from_peak(day, peak_month=2, peak_day=29) == 0
    with pytest.raises(ValueError, match="Day out of range"):
        days_from_peak(day, peak_month=11, peak_day=31)


def test_nights_are_weighed_by_the_season():
    weighed = use_nights([1.0, 0.5, 0.0], [-CURVE.lead_days] * 3, settings=CURVE)
    assert weighed.tolist() == pytest.approx([1.0, 0.5, 0.0])
