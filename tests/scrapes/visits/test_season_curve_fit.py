"""The season's curve is fitted to visits, and practice speaks where visits do not."""

from dataclasses import replace

import numpy as np
import pytest

from scrapes.visits.season_curve import relative_use
from scrapes.visits.season_curve_fit import SeasonCounts, dispersion_of_weeks, fit_season
from scrapes.visits.season_curve_prior import FIGURES
from scrapes.visits.season_curve_settings import SeasonFitSettings
from scrapes.visits.settings import SeasonSettings
from tests.scrapes.visits.season_worlds import DAYS, world

PRACTICE = SeasonSettings()
# Breeding and scraping together, as one of the published studies found, and a wider climb.
TRUTH = replace(PRACTICE, lead_days=2.0, climb_days=24.0, second_height=0.65, off_season_level=0.06)
RATES = (2.0, 1.0, 0.5, 1.5, 3.0, 1.0, 2.0, 0.7)
NIGHTS = np.arange(-100.0, 60.0)


def fitted(counts, **settings):
    return fit_season(
        counts,
        prior=PRACTICE,
        assumed_dispersion=1.5,
        settings=SeasonFitSettings(**settings),
    )


def value(found, name):
    return next(one for one in found.figures if one.name == name)


def test_the_lead_and_the_shape_that_made_the_visits_are_found_again():
    found = fitted(world(np.random.default_rng(3), TRUTH, rates=RATES * 4, spread=1.5))

    assert value(found, "lead_days").value == pytest.approx(TRUTH.lead_days, abs=2.5)
    assert value(found, "climb_days").value == pytest.approx(TRUTH.climb_days, rel=0.15)
    assert value(found, "off_season_level").value == pytest.approx(0.06, rel=0.25)
    use, _low, _high = found.band(NIGHTS)
    assert np.abs(use - relative_use(NIGHTS, settings=TRUTH)).max() < 0.12


def test_the_limits_hold_the_truth_about_as_often_as_they_say():
    """Twelve worlds, seven figures each, limits of 90 %: binomial(84, .9) lies above 66 but for
    one time in a thousand; the figures of one world are not independent, hence 62."""
    rng, inside, nights = np.random.default_rng(11), 0, []
    for _world in range(12):
        found = fitted(world(rng, TRUTH, rates=RATES, spread=2.0))
        inside += sum(one.low <= getattr(TRUTH, one.name) <= one.high for one in found.figures)
        _use, low, high = found.band(NIGHTS)
        true = relative_use(NIGHTS, settings=TRUTH)
        nights.append(((true >= low) & (true <= high)).mean())
    assert inside >= 62
    assert np.mean(nights) > 0.75


def test_few_visits_leave_the_curve_of_practice_nearly_where_it_is():
    found = fitted(world(np.random.default_rng(5), TRUTH, rates=[0.04], spread=1.5))

    assert 0 < found.counts.visits.sum() < 15
    lead = value(found, "lead_days")
    assert abs(lead.value - PRACTICE.lead_days) < 4
    assert lead.high - lead.low > 15


def test_without_any_visit_the_prior_comes_back_with_its_own_spread():
    empty = SeasonCounts(
        days=DAYS,
        visits=np.zeros((2, len(DAYS)), dtype=np.int64),
        camera_nights=np.ones((2, len(DAYS))),
        groups=np.zeros(2, dtype=np.int64),
        scrapes=np.arange(2),
    )

    found = fitted(empty)

    for name in FIGURES:
        assert getattr(found.settings, name) == pytest.approx(getattr(PRACTICE, name))
    assert found.covariance == pytest.approx(np.eye(len(FIGURES)))
    assert found.dispersion == 1.5


def test_more_visits_narrow_the_limits():
    rng = np.random.default_rng(8)
    few = fitted(world(rng, TRUTH, rates=RATES[:2], spread=1.5))
    many = fitted(world(rng, TRUTH, rates=RATES * 4, spread=1.5))

    widths = [
        value(found, "lead_days").high - value(found, "lead_days").low for found in (few, many)
    ]
    assert widths[1] < 0.6 * widths[0]


def test_overdispersed_visits_widen_the_limits_by_its_root():
    """Four times the variance, twice the limits, where practice is hardly heard."""
    loose = {"day_spread": 60.0, "width_spread": 5.0, "level_spread": 10.0}
    widths, spreads = [], []
    for spread in (1.25, 5.0):
        counts = world(np.random.default_rng(9), TRUTH, rates=RATES * 4, spread=spread)
        found = fitted(counts, **loose)
        climb = value(found, "climb_days")
        widths.append(climb.high - climb.low)
        spreads.append(found.dispersion)

    root = np.sqrt(spreads[1] / spreads[0])
    assert root > 1.6
    assert widths[1] / widths[0] == pytest.approx(root, rel=0.2)


def test_the_level_of_a_scrape_says_nothing_about_the_season():
    """Given each row's total, the rates drop out: ten times the camera's view, the same curve."""
    counts = world(np.random.default_rng(12), TRUTH, rates=RATES, spread=1.5)
    shorter = replace(counts, camera_nights=counts.camera_nights * 0.1)

    first, second = fitted(counts), fitted(shorter)

    assert first.place == pytest.approx(second.place, abs=1e-3)
    assert second.rates == pytest.approx(10 * first.rates, rel=1e-3)


def test_nights_nobody_watched_teach_nothing():
    counts = world(np.random.default_rng(13), TRUTH, rates=RATES, spread=1.5)
    visits = counts.visits.copy()
    visits[:, DAYS >= 110] = 50  # seen by nobody's working camera
    assert fitted(counts).place == pytest.approx(fitted(replace(counts, visits=visits)).place)


def test_the_spread_of_visits_is_found_again():
    rng = np.random.default_rng(14)
    for spread in (1.2, 2.5):
        counts = world(rng, PRACTICE, rates=(4.0,) * 12, spread=spread)
        use = relative_use(DAYS, settings=PRACTICE)
        found = dispersion_of_weeks(counts.told(), use, assumed=1.5)
        assert found == pytest.approx(spread, rel=0.2)


def test_what_all_scrapes_of_a_property_do_together_is_one_surprise():
    """Weeks that lift or lower every scrape alike are seen in the property's sum."""
    rng = np.random.default_rng(15)
    use = relative_use(DAYS, settings=PRACTICE)
    alone = world(rng, PRACTICE, rates=(3.0,) * 8, spread=1.5)
    together = world(rng, PRACTICE, rates=(3.0,) * 8, spread=1.5, together=0.5)

    calm = dispersion_of_weeks(alone.told(), use, assumed=1.5)
    shaken = dispersion_of_weeks(together.told(), use, assumed=1.5)

    assert shaken > 2 * calm


def test_the_fit_is_the_same_every_time():
    counts = world(np.random.default_rng(16), TRUTH, rates=RATES, spread=1.5)
    assert fitted(counts).figures == fitted(counts).figures


def test_counts_of_the_wrong_shape_are_refused():
    with pytest.raises(ValueError, match="a row each"):
        SeasonCounts(
            days=DAYS,
            visits=np.zeros((1, 3), dtype=np.int64),
            camera_nights=np.zeros((1, 3)),
            groups=np.zeros(1, dtype=np.int64),
            scrapes=np.zeros(1, dtype=np.int64),
        )
    with pytest.raises(ValueError, match="at least 1"):
        fit_season(
            world(np.random.default_rng(1), TRUTH, rates=RATES, spread=1.5),
            prior=PRACTICE,
            assumed_dispersion=0.5,
            settings=SeasonFitSettings(),
        )
