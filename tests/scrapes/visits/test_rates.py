"""Rates, comparisons and priors at their edges; published values stand in tests/outside."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scrapes.visits.rates import (
    GammaRate,
    compare_rates,
    overdispersion,
    poisson_limits,
    prior_from_others,
    visit_rate,
)

FALLBACK = GammaRate(shape=1.5, rate=1.5)


def test_nothing_watched_is_no_rate_rather_than_nought():
    rate = visit_rate(0, 0.0)
    assert math.isnan(rate.per_100)
    assert math.isnan(rate.high_per_100)


def test_no_visit_seen_still_leaves_an_upper_limit():
    rate = visit_rate(0, 50.0)
    assert rate.per_100 == 0 == rate.low_per_100
    assert rate.high_per_100 == pytest.approx(2 * 3.6889, abs=1e-3)


@settings(max_examples=50, deadline=None)
@given(first=st.integers(0, 60), second=st.integers(0, 60), effort=st.floats(0.5, 50))
def test_exchanging_the_rates_inverts_the_ratio_and_keeps_the_chance(first, second, effort):
    one = compare_rates(first, effort, second, 10)
    other = compare_rates(second, 10, first, effort)
    assert one.p_two_sided == pytest.approx(other.p_two_sided, abs=1e-9)
    if first and second:
        assert one.low == pytest.approx(1 / other.high, rel=1e-6)
        assert one.low <= one.ratio <= one.high


def test_two_empty_records_are_not_a_change():
    nothing = compare_rates(0, 10, 0, 10)
    assert nothing.p_two_sided == 1
    assert math.isnan(nothing.ratio)
    assert (nothing.low, nothing.high) == (0, math.inf)


def test_refuses_what_is_no_count_and_no_effort():
    with pytest.raises(ValueError, match="negative"):
        poisson_limits(-1)
    with pytest.raises(ValueError, match="above nought"):
        compare_rates(1, 0, 1, 1)
    with pytest.raises(ValueError, match="confidence"):
        poisson_limits(1, confidence=95)


def test_other_scrapes_that_differ_by_chance_alone_make_a_firm_prior():
    counts = np.random.default_rng(7).poisson(2.0 * 40, size=12)
    prior = prior_from_others(counts, np.full(12, 40.0), fallback=FALLBACK, shape_maximum=20)
    assert prior.mean == pytest.approx(2.0, rel=0.1)
    assert prior.shape >= 15


def test_other_scrapes_that_differ_widely_make_a_loose_prior():
    rng = np.random.default_rng(7)
    rates = rng.gamma(2.0, 1.0, size=4000)
    counts = rng.poisson(rates * 40)
    prior = prior_from_others(counts, np.full(4000, 40.0), fallback=FALLBACK, shape_maximum=20)
    assert prior.mean == pytest.approx(2.0, rel=0.1)
    assert prior.shape == pytest.approx(2.0, rel=0.25)


def test_too_few_scrapes_or_none_visited_fall_back():
    assert prior_from_others([5, 6], [9, 9], fallback=FALLBACK, shape_maximum=20) is FALLBACK
    assert prior_from_others([0] * 5, [9] * 5, fallback=FALLBACK, shape_maximum=20) is FALLBACK
    unwatched = prior_from_others([4, 5, 0], [9, 9, 0], fallback=FALLBACK, shape_maximum=20)
    assert unwatched is FALLBACK


def test_expected_differences_between_nights_are_not_dispersion():
    nights = np.array([1.0, 2.0, 4.0, 8.0])
    assert overdispersion(3 * nights, nights).statistic == pytest.approx(0)
    assert overdispersion(3 * nights).ratio > 1


def test_dispersion_of_nothing_is_refused():
    with pytest.raises(ValueError, match="at least two"):
        overdispersion([3])
