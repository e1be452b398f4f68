"""Independent events, rates and activity against published rules and recomputed figures."""

import numpy as np
import pytest

from scrapes.visits.activity import activity
from scrapes.visits.events import independent_visits
from scrapes.visits.independence import IndependenceRule
from scrapes.visits.rates import visit_rate
from scrapes.visits.settings import VisitSettings

MINUTES = np.array([0, 20, 45, 76, 90], dtype=np.int64)  # 18:00 18:20 18:45 19:16 19:30


@pytest.mark.parametrize(
    ("rule", "events"),
    [(IndependenceRule.SINCE_LAST_PICTURE, 2), (IndependenceRule.SINCE_LAST_COUNTED, 3)],
)
def test_the_two_readings_of_thirty_minutes_differ(rule, events):
    """O'Brien, Kinnaird & Wibisono 2003, 30 minutes; both readings worked by hand."""
    found = independent_visits(
        scrape=np.zeros(5, dtype=np.int64),
        start_s=18 * 3600 + MINUTES * 60,
        settings=VisitSettings(independence_rule=rule.value),
    )
    assert len(found) == events


def test_fourteen_events_in_ninety_two_and_a_half_nights():
    """100 x events / camera-nights with Garwood's limits (computed)."""
    rate = visit_rate(14, 92.5)
    assert rate.per_100 == pytest.approx(15.135, abs=5e-4)
    assert rate.low_per_100 == pytest.approx(8.2745, abs=5e-5)
    assert rate.high_per_100 == pytest.approx(25.3942, abs=5e-5)


def test_activity_density_of_seven_visits():
    """Von Mises kernel, kappa 20 (computed): per hour .178045 at 6, .211584 at 18."""
    found = activity([5.5, 6, 6.5, 17.5, 18, 18.5, 19], hours=[6.0, 18.0], concentration=20.0)
    assert found.density_per_hour == pytest.approx([0.178045, 0.211584], abs=5e-7)
    assert found.sample_size == 7


def test_activity_integrates_to_one_day():
    hours = np.arange(0, 24, 0.05)
    found = activity([23.9, 0.1, 5.0], hours=hours, concentration=60.0)
    assert found.density_per_hour.sum() * 0.05 == pytest.approx(1.0)
    at_midnight, before = found.density_per_hour[0], found.density_per_hour[-2]
    assert at_midnight == pytest.approx(before, rel=0.1)


def test_no_visits_have_no_activity():
    with pytest.raises(ValueError, match="no visits"):
        activity([], hours=[6.0])
