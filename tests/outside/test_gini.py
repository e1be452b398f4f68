"""The Gini coefficient against values from its published formula."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.sits.fairness import gini


def test_one_to_five():
    """MathWorld, "Gini Coefficient": the formula gives 4/15 for 1 2 3 4 5."""
    assert gini([3, 1, 5, 2, 4]) == pytest.approx(0.266667, abs=1e-6)
    # The same page's unbiased form multiplies by n / (n - 1).
    assert gini([3, 1, 5, 2, 4]) * 5 / 4 == pytest.approx(0.333333, abs=1e-6)


@pytest.mark.parametrize(
    ("values", "expected"), [([2, 2, 2], 0.0), ([0, 0, 0, 8], 0.75), ([], None), ([0, 0], None)]
)
def test_all_alike_one_has_all_and_nobody_has_any(values, expected):
    assert gini(values) == expected


@given(st.lists(st.integers(0, 50), min_size=2, max_size=12).filter(any), st.integers(1, 9))
def test_it_equals_the_mean_difference_over_twice_the_mean_whatever_the_unit(values, factor):
    count, total = len(values), sum(values)
    difference = sum(abs(a - b) for a in values for b in values)
    expected = difference / (2 * count * total)

    assert gini(values) == pytest.approx(expected)
    assert gini([factor * value for value in values]) == pytest.approx(expected)
