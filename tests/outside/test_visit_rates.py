"""Visit rates, priors, dispersion and the running sum against published figures."""

import numpy as np
import pytest

from scrapes.visits.cusum import average_run_length, downward_path, reference_value
from scrapes.visits.rates import (
    GammaRate,
    compare_rates,
    overdispersion,
    poisson_limits,
    upper_limit_when_none_seen,
    visit_rate,
)

# Garwood 1936, Fiducial limits for the Poisson distribution, Biometrika 28: 95 % limits
# (formula from memory; figures computed from it with scipy's chi-square).
GARWOOD_95 = [
    (0, 0.0, 3.6889),
    (1, 0.0253, 5.5716),
    (2, 0.2422, 7.2247),
    (3, 0.6187, 8.7673),
    (5, 1.6235, 11.6683),
    (10, 4.7954, 18.3904),
    (20, 12.2165, 30.8884),
    (50, 37.1110, 65.9188),
]


@pytest.mark.parametrize(("count", "low", "high"), GARWOOD_95)
def test_exact_poisson_limits_are_garwoods(count, low, high):
    found_low, found_high = poisson_limits(count)
    assert found_low == pytest.approx(low, abs=5e-5)
    assert found_high == pytest.approx(high, abs=5e-5)


def test_fifteen_in_four_hundred_agrees_with_statsmodels():
    """statsmodels' tests of confint_poisson, method exact-c: 15 in 400."""
    rate = visit_rate(15, 400.0)
    assert rate.per_100 / 100 == pytest.approx(0.0375)
    assert rate.low_per_100 / 100 == pytest.approx(0.020988465, abs=1e-8)
    assert rate.high_per_100 / 100 == pytest.approx(0.061850547, abs=1e-8)


def test_none_seen_leaves_the_rule_of_three():
    """-ln(.05) = 2.9957: the 'rule of three' (from memory)."""
    assert upper_limit_when_none_seen(1.0) == pytest.approx(2.9957, abs=5e-5)


def test_three_in_a_hundred_against_none_is_the_conditional_test_of_1940():
    """Przyborowski & Wilenski 1940: 0/100 against 3/100, two-sided .25 (computed)."""
    assert compare_rates(0, 100, 3, 100).p_two_sided == pytest.approx(0.25)


def test_coronary_deaths_of_gu_and_others_2008():
    """Gu, Ng, Tang & Schucany 2008, in statsmodels' tests: 60/51477.5 against 30/54308.7,
    exact conditional, one-sided: .000428."""
    found = compare_rates(60, 51477.5, 30, 54308.7)
    assert found.p_first_greater == pytest.approx(0.000428, abs=5e-7)


def test_a_drop_from_twenty_to_five_in_ten_nights_each():
    """Computed with R 4.2.2 poisson.test and scipy: chances and limits of the ratio."""
    found = compare_rates(20, 10, 5, 10)
    assert found.ratio == pytest.approx(4.0)
    assert found.low == pytest.approx(1.4568, abs=5e-5)
    assert found.high == pytest.approx(13.6388, abs=5e-5)
    assert found.p_two_sided == pytest.approx(0.004077, abs=5e-7)
    assert found.p_first_greater == pytest.approx(0.002039, abs=5e-7)


def test_gamma_prior_of_the_bayes_rules_example():
    """Johnson, Ott & Dogucu, Bayes Rules!: Gamma(10, 2) and counts 6 2 2 1."""
    posterior = GammaRate(shape=10, rate=2).updated(count=6 + 2 + 2 + 1, effort=4)
    assert (posterior.shape, posterior.rate) == (21, 6)
    assert posterior.mean == 3.5


def test_gamma_prior_of_the_asthma_example():
    """Gelman and others, Bayesian Data Analysis, asthma deaths (from memory)."""
    posterior = GammaRate(shape=3, rate=5).updated(count=3, effort=2.0)
    assert (posterior.shape, posterior.rate) == (6, 7)
    assert posterior.mean == pytest.approx(0.857, abs=5e-4)
    assert posterior.chance_above(1.0) == pytest.approx(0.30, abs=5e-3)


def test_overdispersion_of_wetherill_and_brown():
    """Wetherill & Brown 1991, Statistical Process Control, pp. 216-218 (in R's qcc)."""
    counts = [11, 8, 13, 11, 13, 17, 25, 23, 11, 16, 9, 15, 10, 16, 12]
    counts += [8, 9, 15, 4, 12, 12, 12, 15, 17, 14, 17, 12, 12, 7, 16]
    found = overdispersion(counts)
    assert found.ratio == pytest.approx(1.472203, abs=5e-7)
    assert found.statistic == pytest.approx(42.69388, abs=5e-6)
    assert found.p == pytest.approx(0.048579, abs=5e-7)


def test_run_lengths_of_lucas_1985():
    """Lucas 1985, Counted data CUSUM's, Technometrics 27, tables 2 and 4: 438 and 437."""
    figures = {"mean": 0.25, "reference": 0.25, "threshold": 10.0, "step": 0.25}
    upward = average_run_length(**figures, downward=False)
    downward = average_run_length(**figures)
    assert round(upward) == 438
    assert round(downward) == 437
    assert upward == pytest.approx(438.125, abs=5e-4)
    assert downward == pytest.approx(436.764, abs=5e-4)


def test_run_length_of_the_surveillance_example():
    """R packages spc and surveillance: h 10, k 3, mean 2.4, upward: 548.3623."""
    found = average_run_length(mean=2.4, reference=3.0, threshold=10.0, step=1.0, downward=False)
    assert found == pytest.approx(548.3623, abs=5e-5)


def test_run_lengths_quoted_in_the_settings():
    """k .7, h 5, downward. 360.72 at one visit a night: computed with R's spc. At half a visit:
    21.3047, computed twice, by this chain and by stepping the sum's distribution on."""
    figures = {"reference": 0.7, "threshold": 5.0, "step": 0.1}
    assert average_run_length(mean=1.0, **figures) == pytest.approx(360.72, abs=5e-3)
    assert average_run_length(mean=0.5, **figures) == pytest.approx(21.3047, abs=5e-5)


def test_run_lengths_agree_with_running_the_sum():
    """The chain and the path are written apart: simulated run lengths must agree with it."""
    rng = np.random.default_rng(5)
    counts = rng.poisson(0.5, size=(4000, 250))
    paths = np.array([downward_path(row, reference=0.7) for row in counts])
    signals = paths >= 5 - 1e-9
    assert signals.any(axis=1).all()
    mean = (signals.argmax(axis=1) + 1).mean()
    assert mean == pytest.approx(21.3047, rel=0.03)


def test_the_path_of_a_downward_sum_by_hand():
    """Worked by hand: S = max(0, S + .7 - x)."""
    counts = [1, 2, 0, 1, 0, 0, 1, 0, 0, 0, 0, 0]
    expected = [0, 0, 0.7, 0.4, 1.1, 1.8, 1.5, 2.2, 2.9, 3.6, 4.3, 5.0]
    assert downward_path(counts, reference=0.7) == pytest.approx(expected)


def test_reference_value_for_a_halved_rate():
    """Lucas 1985: k = (l0 - l1) / (ln l0 - ln l1)."""
    assert float(reference_value(1.0, 0.5)) == pytest.approx(0.72135, abs=5e-6)
