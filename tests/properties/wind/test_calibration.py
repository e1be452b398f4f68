"""Forecast against outcome: bins, limits, and the alert distance that reports speak for."""

import numpy as np
import pytest

from properties.wind.alert_distance import fit_alert_distance
from properties.wind.calibration import calibration, observed_share

CANDIDATES = 250.0 * 2.0 ** np.arange(-2.0, 2.01, 0.5)


def bins_of(chances, winded, alarmed=None, bins=5):
    winded = np.asarray(winded, dtype=bool)
    return calibration(
        forecast_chance=np.asarray(chances, dtype=float),
        winded=winded,
        alarmed=winded if alarmed is None else np.asarray(alarmed, dtype=bool),
        bins=bins,
        confidence=0.95,
    )


def test_each_sit_stands_in_the_bin_of_its_forecast_and_certainty_in_the_last():
    found = bins_of([0.0, 0.19, 0.2, 0.99, 1.0], [0, 1, 0, 1, 1])

    assert [each.sits for each in found.bins] == [2, 1, 0, 0, 2]
    assert [each.winded.count for each in found.bins] == [1, 0, 0, 0, 2]
    assert found.bins[0].mean_forecast == pytest.approx(0.095)
    assert found.bins[2].mean_forecast is None
    assert found.bins[2].winded.share is None
    assert (found.bins[2].winded.low, found.bins[2].winded.high) == (0.0, 1.0)


def test_the_whole_tells_how_many_were_expected_and_how_many_came():
    found = bins_of([0.5, 0.5, 0.25, 0.75], [1, 0, 0, 1], [1, 1, 0, 1])

    assert (found.sits, found.expected) == (4, 2.0)
    assert (found.winded.count, found.alarmed.count) == (2, 3)


def test_without_a_sit_there_is_a_table_and_no_share():
    found = bins_of([], [])

    assert found.sits == 0
    assert found.winded.share is None


def test_what_cannot_be_a_share_or_a_chance_is_refused():
    with pytest.raises(ValueError, match="no share"):
        observed_share(3, 2, confidence=0.95)
    with pytest.raises(ValueError, match="0 to 1"):
        bins_of([1.2], [1])
    with pytest.raises(ValueError, match="0 to 1"):
        bins_of([np.nan], [1])
    with pytest.raises(ValueError, match="outcomes"):
        bins_of([0.2], [1, 0])


def chances_with(distance_over):
    """Chance that falls with how far deer are in terms of the alert distance."""
    return 1.0 / (1.0 + distance_over**2)


def made_up_sits(true_m, sits, seed=4):
    random = np.random.default_rng(seed)
    away_m = random.uniform(50, 900, sits)
    winded = random.uniform(size=sits) < chances_with(away_m / true_m)
    return chances_with(away_m[:, None] / CANDIDATES), winded


def fitted(true_m, sits, seed=4):
    chances, winded = made_up_sits(true_m, sits, seed)
    return fit_alert_distance(
        candidates_m=CANDIDATES, chances=chances, winded=winded, confidence=0.95
    )


def test_the_distance_that_made_the_reports_is_found_within_its_interval():
    found = fitted(180.0, 1500)

    assert found.low_m < 180.0 < found.high_m
    assert found.distance_m == pytest.approx(180.0, rel=0.15)
    assert found.is_bounded


def test_the_interval_holds_the_truth_about_as_often_as_it_says():
    held = [fitted(250.0, 150, seed) for seed in range(200)]

    hits = sum((f.low_m or 0) <= 250.0 <= (f.high_m or np.inf) for f in held)
    # 95 % of 200 is 190; three binomial deviations (3.08) either way.
    assert 180 <= hits <= 200


def test_fewer_sits_leave_a_wider_interval():
    few, many = fitted(250.0, 120), fitted(250.0, 2000)

    assert many.high_m / many.low_m < (few.high_m or 1e4) / (few.low_m or 1.0)


def test_sits_that_were_all_winded_bound_the_distance_from_below_only():
    chances, _ = made_up_sits(250.0, 40)

    found = fit_alert_distance(
        candidates_m=CANDIDATES, chances=chances, winded=np.ones(40, bool), confidence=0.95
    )

    assert found.high_m is None
    assert not found.is_bounded


def test_one_winded_sit_that_the_model_calls_impossible_leaves_a_finite_answer():
    chances, winded = made_up_sits(250.0, 60)
    chances[0], winded[0] = 0.0, True

    found = fit_alert_distance(
        candidates_m=CANDIDATES, chances=chances, winded=winded, confidence=0.95
    )

    assert np.isfinite(found.distance_m)


def test_arrays_that_do_not_match_are_refused():
    with pytest.raises(ValueError, match="candidates"):
        fit_alert_distance(
            candidates_m=CANDIDATES,
            chances=np.zeros((3, 2)),
            winded=np.zeros(3, bool),
            confidence=0.95,
        )
    with pytest.raises(ValueError, match="no sit"):
        fit_alert_distance(
            candidates_m=CANDIDATES,
            chances=np.zeros((0, len(CANDIDATES))),
            winded=np.zeros(0, bool),
            confidence=0.95,
        )
