"""The pooled ratio of refreshes against two reference libraries."""

import numpy as np
import pytest
from scipy import stats
from statsmodels.discrete.conditional_models import ConditionalLogit

from scrapes.care.common_ratio import Table, common_ratio


def test_one_table_without_others_has_the_limits_of_clopper_and_pearson():
    """20 in 10 nights after 5 in 10: 4.0, 1.4568 to 13.6388 (R 4.2.2 poisson.test)."""
    found = common_ratio([Table(before=5, after=20, effort_ratio=1.0)], confidence=0.95)
    assert found == pytest.approx((4.0, 1.4568, 13.6388), abs=5e-5)


@pytest.mark.parametrize(
    ("own", "others"), [((5, 20), (30, 33)), ((40, 10), (12, 9)), ((3, 4), (1, 2))]
)
def test_one_table_with_others_is_fishers_conditional_odds_ratio(own, others):
    """scipy.stats.contingency.odds_ratio, kind="conditional"."""
    theirs = stats.contingency.odds_ratio(
        [[own[1], own[0]], [others[1], others[0]]], kind="conditional"
    )
    interval = theirs.confidence_interval(confidence_level=0.95)
    found = common_ratio(
        [Table(before=own[0], after=own[1], effort_ratio=1.0, others=others)], confidence=0.95
    )
    assert found == pytest.approx((theirs.statistic, interval.low, interval.high), rel=1e-4)


def test_several_tables_agree_with_conditional_logistic_regression():
    """statsmodels' ConditionalLogit: each refresh a group, each visit a row that came after or
    before, at the refreshed scrape or at one left alone. Its limits are the normal ones, so only
    near ours."""
    tables = [((12, 25), (40, 42)), ((8, 9), (30, 21)), ((20, 33), (15, 18))]
    after, here, group = [], [], []
    for number, (own, others) in enumerate(tables):
        for counts, refreshed in ((own, 1.0), (others, 0.0)):
            after += [0] * counts[0] + [1] * counts[1]
            here += [refreshed] * sum(counts)
            group += [number] * sum(counts)
    fitted = ConditionalLogit(np.array(after), np.array(here)[:, None], groups=np.array(group)).fit(
        disp=0
    )
    low, high = fitted.conf_int()[0]

    found = common_ratio(
        [
            Table(before=own[0], after=own[1], effort_ratio=1.0, others=others)
            for own, others in tables
        ],
        confidence=0.95,
    )

    assert found[0] == pytest.approx(np.exp(fitted.params[0]), rel=1e-4)
    assert found[1:] == pytest.approx((np.exp(low), np.exp(high)), rel=0.08)


def test_efforts_are_divided_out():
    plain = common_ratio([Table(before=30, after=60, effort_ratio=1.0)], confidence=0.9)
    longer = common_ratio([Table(before=30, after=60, effort_ratio=2.0)], confidence=0.9)
    assert longer == pytest.approx(tuple(one / 2 for one in plain), rel=1e-6)


def test_hundreds_of_visits_lose_no_precision():
    """Large counts: the limits come near those of the normal log ratio."""
    tables = [Table(before=600, after=900, effort_ratio=1.0)] * 10
    ratio, low, high = common_ratio(tables, confidence=0.95)
    spread = 1.959964 * np.sqrt(1 / 6000 + 1 / 9000)
    assert ratio == pytest.approx(1.5, rel=1e-6)
    assert (low, high) == pytest.approx((1.5 * np.exp(-spread), 1.5 * np.exp(spread)), rel=2e-3)


def test_limits_hold_the_truth_at_least_as_often_as_they_say():
    rng = np.random.default_rng(3)
    inside = 0
    for _world in range(300):
        rates = rng.uniform(0.3, 4, 3)
        nights = rng.uniform(3, 14, (3, 2))
        before, after = rng.poisson(rates * nights[:, 0]), rng.poisson(1.7 * rates * nights[:, 1])
        tables = [
            Table(before=int(b), after=int(a), effort_ratio=float(n[1] / n[0]))
            for b, a, n in zip(before, after, nights, strict=True)
        ]
        _ratio, low, high = common_ratio(tables, confidence=0.9)
        inside += low <= 1.7 <= high
    assert inside >= 260


def test_the_ends_of_what_is_possible_have_open_limits():
    ratio, low, high = common_ratio([Table(before=0, after=9, effort_ratio=1.0)], confidence=0.9)
    assert (ratio, high) == (np.inf, np.inf)
    assert low > 1
    ratio, low, high = common_ratio([Table(before=9, after=0, effort_ratio=1.0)], confidence=0.9)
    assert (ratio, low) == (0, 0)
    assert high < 1
    nothing = common_ratio([Table(before=0, after=0, effort_ratio=1.0)], confidence=0.9)
    assert np.isnan(nothing).all()
