"""Figures of harvest and observation against published values and a reference library."""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from scheduling.herd.observed import hourly_rate, trend
from scheduling.sits.harvest_arithmetic import (
    Weighed,
    limits_of_mean,
    per_hunter_day,
    sex_ratio,
    weights_by_age,
)

# Hours of sleep gained (Student 1908), first drug, and the differences between the two; the
# limits as R's documentation of its t test prints them (written from memory).
SLEEP = (0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0)
DIFFERENCES = (1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4)


def test_limits_of_a_mean_are_those_of_the_engineering_handbook():
    """NIST/SEMATECH e-Handbook 1.3.5.2, ZARR13 (written from memory): n 195, mean 9.261460, sd
    .022789: 9.258242 to 9.264679."""
    found = limits_of_mean(195, 9.261460, 0.022789)
    assert found == pytest.approx((9.258242, 9.264679), abs=2e-6)


def test_weights_have_the_limits_of_students_own_data():
    (found,) = weights_by_age(
        [Weighed(sex="doe", age_years=2.5, dressed_weight_kg=value) for value in DIFFERENCES],
        fawn_until_years=1.0,
        fewest=5,
    )
    assert (found.n, found.mean_kg) == (10, pytest.approx(1.58))
    assert (found.low_kg, found.high_kg) == pytest.approx((0.7001142, 2.4598858), abs=1e-6)


def test_a_rate_over_sits_of_one_hour_each_is_a_mean_with_students_limits():
    """Then the ratio's linearised variance is that of a mean: .75, -.5297804 to 2.0297804."""
    found = hourly_rate(SLEEP, np.ones(10), fewest=5)
    assert found.per_hour == pytest.approx(0.75)
    assert found.high == pytest.approx(2.0297804, abs=1e-6)
    assert found.low == 0.0  # A rate is never below nought.


def test_deer_for_a_hunter_day_have_exact_poisson_limits():
    """Garwood 1936, 95 %: 10 seen, 4.7954 to 18.3904; none seen, 0 to 3.6889."""
    found = per_hunter_day(10, 100)
    assert (found.rate, found.low, found.high) == pytest.approx((0.1, 0.047954, 0.183904), abs=1e-6)
    none = per_hunter_day(0, 100)
    assert (none.low, none.high) == pytest.approx((0, 0.036889), abs=1e-6)


@pytest.mark.parametrize(("bucks", "does"), [(12, 30), (1, 9), (40, 3)])
def test_the_limits_of_the_sex_ratio_are_those_of_the_share_of_does(bucks, does):
    """Against the reference library's exact binomial interval (Clopper and Pearson 1934)."""
    limits = stats.binomtest(does, bucks + does).proportion_ci(0.95, method="exact")
    found = sex_ratio(bucks, does, 5)
    assert found.does_per_buck == pytest.approx(does / bucks)
    assert found.low == pytest.approx(limits.low / (1 - limits.low))
    assert found.high == pytest.approx(limits.high / (1 - limits.high))


def test_the_trend_is_the_reference_librarys_poisson_regression_with_pearsons_spread():
    rng = np.random.default_rng(7)
    period = np.repeat(np.arange(5), 30)
    hours = rng.uniform(1, 5, len(period))
    mean = hours * 0.8 * 1.15**period
    seen = rng.negative_binomial(2, 2 / (2 + mean))

    found = trend(seen, hours, period, fewest_sits=5, fewest_periods=3)
    model = sm.GLM(
        seen, sm.add_constant(period.astype(float)), sm.families.Poisson(), offset=np.log(hours)
    ).fit(scale="X2")
    reach = stats.t.isf(0.025, len(period) - 2) * model.bse[1]

    assert model.scale > 1.3
    assert found.ratio == pytest.approx(np.exp(model.params[1]), rel=1e-6)
    assert found.low == pytest.approx(np.exp(model.params[1] - reach), rel=1e-5)
    assert found.high == pytest.approx(np.exp(model.params[1] + reach), rel=1e-5)
