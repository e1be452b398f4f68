"""Exact binomial limits against published values.

Clopper & Pearson (1934) by way of scipy's independent implementation (`binomtest`), and the
rule of three in its exact form: none in n gives 1 − (α/2)^(1/n) (from memory).
"""

import pytest
from scipy.stats import binomtest

from properties.wind.calibration import observed_share


@pytest.mark.parametrize(("count", "sits"), [(0, 10), (1, 10), (7, 20), (20, 20), (3, 400)])
def test_limits_agree_with_an_independent_implementation(count, sits):
    found = observed_share(count, sits, confidence=0.95)

    expected = binomtest(count, sits).proportion_ci(confidence_level=0.95, method="exact")
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high), abs=1e-9)


def test_none_in_thirty_is_bounded_as_the_exact_rule_says():
    found = observed_share(0, 30, confidence=0.95)

    assert found.low == 0.0
    assert found.high == pytest.approx(1 - 0.025 ** (1 / 30))
