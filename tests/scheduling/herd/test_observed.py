"""Deer an hour: limits that hold, classes that stay apart, trends that are not made up."""

import numpy as np
import pytest

from scheduling.herd.observed import (
    SeenClass,
    Verdict,
    Watched,
    hourly_rate,
    rates_by_class,
    seen_class,
    trend,
)


def test_a_fawn_is_a_fawn_of_either_sex_and_an_unknown_deer_stays_unknown():
    assert seen_class("buck", "fawn") is SeenClass.FAWN
    assert seen_class("doe", "unknown") is SeenClass.DOE
    assert seen_class("unknown", "adult") is SeenClass.UNKNOWN


def test_too_few_sits_have_a_rate_and_no_limits():
    found = hourly_rate([2, 0], [3, 3], fewest=5)
    assert (found.per_hour, found.low, found.high) == (pytest.approx(1 / 3), None, None)
    nobody = hourly_rate([], [], fewest=5)
    assert (nobody.sits, nobody.per_hour) == (0, None)


def test_where_none_was_seen_the_upper_limit_is_three_over_the_hours():
    found = hourly_rate([0] * 6, [2] * 6, fewest=5)
    assert found.low == 0
    assert found.high == pytest.approx(2.9957 / 12, abs=1e-5)


def test_hours_that_are_none_are_refused():
    with pytest.raises(ValueError, match="hours"):
        hourly_rate([1], [0], fewest=2)


def test_limits_hold_the_true_rate_about_as_often_as_they_say_though_deer_come_in_groups():
    rng = np.random.default_rng(3)
    held = 0
    for _world in range(400):
        hours = rng.uniform(2, 4, 40)
        groups = rng.poisson(0.5 * hours)
        seen = [int(rng.integers(1, 6, many).sum()) for many in groups]  # 3 a group on average
        found = hourly_rate(seen, hours, fewest=5)
        assert found.low is not None
        assert found.high is not None
        held += found.low <= 1.5 <= found.high
    assert 0.90 <= held / 400 <= 0.98


def test_no_trend_is_found_where_there_is_none_about_as_often_as_the_limits_say():
    rng = np.random.default_rng(5)
    period = np.repeat(np.arange(4), 25)
    found = [
        trend(
            rng.negative_binomial(1, 1 / (1 + 3.0), 100),
            np.full(100, 3.0),
            period,
            fewest_sits=5,
            fewest_periods=3,
        ).verdict
        for _world in range(400)
    ]
    assert found.count(Verdict.NO_TREND) / 400 >= 0.91
    assert found.count(Verdict.TOO_FEW) == 0


def test_a_herd_that_halves_each_year_is_falling_and_one_that_doubles_rising():
    period = np.repeat(np.arange(4), 10)
    for factor, verdict in ((0.5, Verdict.FALLING), (2.0, Verdict.RISING)):
        seen = np.round(24 * factor**period).astype(int)
        found = trend(seen, np.full(40, 3.0), period, fewest_sits=5, fewest_periods=3)
        assert found.verdict is verdict
        assert found.ratio == pytest.approx(factor, rel=0.02)


def test_two_periods_or_none_seen_are_too_few_to_tell():
    period = np.repeat([0, 1], 10)
    assert (
        trend(np.ones(20), np.ones(20), period, fewest_sits=5, fewest_periods=3).verdict
        is Verdict.TOO_FEW
    )
    three = np.repeat([0, 1, 2], 10)
    none = trend(np.zeros(30), np.ones(30), three, fewest_sits=5, fewest_periods=3)
    assert none.verdict is Verdict.TOO_FEW


def test_each_class_has_its_rates_and_all_deer_are_their_sum():
    sits = [
        Watched(period=year, hours=3.0, seen={SeenClass.DOE: 2, SeenClass.UNKNOWN: 1})
        for year in (2023, 2024)
        for _each in range(5)
    ]
    found = {
        one.seen_class: one
        for one in rates_by_class(sits, periods=[2023, 2024], fewest_sits=5, fewest_periods=3)
    }
    assert [rate.per_hour for rate in found[None].rates] == [1.0, 1.0]
    assert found[SeenClass.DOE].rates[0].seen == 10
    assert found[SeenClass.UNKNOWN].rates[1].seen == 5
    assert found[SeenClass.BUCK].rates[0].seen == 0
