"""Numbers as people read them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.land.units import Quantity, UnitSystem, show, stored


@pytest.mark.parametrize(
    ("value", "quantity", "us", "metric"),
    [
        (250.0, Quantity.DISTANCE, "273 yd", "250 m"),
        (6.0, Quantity.HEIGHT, "20 ft", "6.0 m"),
        (2_589_988.1, Quantity.AREA, "640.0 acre", "259.0 ha"),
        (4.0, Quantity.SPEED, "9 mph", "4.0 m/s"),
        (20.0, Quantity.RAIN, "0.79 in", "20.0 mm"),
        (-40.0, Quantity.TEMPERATURE, "-40 °F", "-40 °C"),
        (-0.2, Quantity.TEMPERATURE, "32 °F", "0 °C"),
        (12_345.0, Quantity.DISTANCE, "13,501 yd", "12,345 m"),
    ],
)
def test_a_stored_number_is_shown_in_the_units_of_the_profile(value, quantity, us, metric):
    assert show(value, quantity, UnitSystem.US).text == us
    assert show(value, quantity, UnitSystem.METRIC).text == metric


@given(st.floats(-1e6, 1e6), st.sampled_from(list(Quantity)), st.sampled_from(list(UnitSystem)))
def test_a_number_shown_and_given_back_is_stored_the_same(value, quantity, system):
    assert stored(show(value, quantity, system).value, quantity, system) == pytest.approx(
        value, rel=1e-9, abs=1e-9
    )
