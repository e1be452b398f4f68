"""Published circular statistics and wind components."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.wind.circular import (
    beaufort_force,
    circular_deviation_deg,
    combined_deviation_deg,
    mean_wind,
    rayleigh_probability,
    rayleigh_probability_zar,
    resultant,
    turn_deg,
    wind_components,
    wind_from_components,
    yamartino_deviation_deg,
)

MILWAUKEE = [327, 91, 88, 305, 344, 270, 67, 21, 281, 8, 204, 86, 333, 18, 57, 6, 11, 27, 84]


@pytest.mark.parametrize(
    ("speed", "wind_from_deg", "east", "north"),
    [
        # ECMWF help page on wind components.
        (10, 0, 0, -10),
        (5, 90, -5, 0),
        (8, 180, 0, 8),
        (7, 225, 4.9497, 4.9497),
    ],
)
def test_components_of_the_wind(speed, wind_from_deg, east, north):
    ours = wind_components(speed, wind_from_deg)
    assert [float(part) for part in ours] == pytest.approx([east, north], abs=5e-5)


def test_wind_from_components():
    # 3, 4 → 5 from 216.870°; 1, -1 → from 315° (ECMWF's formula).
    speed, direction = wind_from_components([3, 1], [4, -1])
    assert speed == pytest.approx([5, np.sqrt(2)])
    assert direction == pytest.approx([216.870, 315.0], abs=5e-4)


@given(speed=st.floats(0.1, 40), wind_from_deg=st.floats(0, 359.99))
def test_components_and_back_is_the_same_wind(speed, wind_from_deg):
    ours, direction = wind_from_components(*wind_components(speed, wind_from_deg))
    assert ours == pytest.approx(speed)
    assert abs(turn_deg(wind_from_deg, direction)) < 1e-6


def test_no_wind_has_no_direction():
    speed, direction = wind_from_components(0.0, 0.0)
    assert speed == 0
    assert np.isnan(direction)


def test_mean_of_wind_vectors():
    speed, direction, steadiness = mean_wind([3, 5, 4], [350, 10, 30])
    assert (speed, direction, steadiness) == pytest.approx((3.8610, 11.692, 0.96524), abs=5e-4)


def test_opposite_winds_have_no_mean_direction():
    speed, direction, steadiness = mean_wind([2, 2], [0, 180])
    assert speed == pytest.approx(0, abs=1e-9)
    assert direction is None
    assert steadiness == pytest.approx(0, abs=1e-9)


def test_calm_has_no_steadiness():
    assert mean_wind([0, 0], [0, 90]) == (0.0, None, None)


def test_milwaukee_winds_at_six():
    # Johnson & Wehrly (1977); Fisher (1993) B.18.
    mean, length = resultant(MILWAUKEE)
    assert mean == pytest.approx(16.7066, abs=5e-5)
    assert length == pytest.approx(0.517142, abs=5e-7)
    assert rayleigh_probability(count=19, resultant_length=length) == pytest.approx(
        0.0049, abs=5e-5
    )


def test_jammalamadaka_and_sengupta_page_23():
    mean, length = resultant([51, 67, 40, 109, 31, 358])
    assert mean == pytest.approx(48.63, abs=0.005)
    assert 1 - length == pytest.approx(0.1635635, abs=5e-8)


def test_rayleigh_by_fishers_series_and_by_zars_formula():
    # R package CircStats, through the tests of astropy; Zar's gives another figure.
    mean, length = resultant([190.18, 175.48, 155.95, 217.83, 156.36])
    assert mean is not None
    assert length == pytest.approx(0.9202565, abs=5e-8)
    series = rayleigh_probability(count=5, resultant_length=length)
    assert series == pytest.approx(0.00640418, abs=5e-8)
    zar = rayleigh_probability_zar(count=5, resultant_length=length)
    assert zar == pytest.approx(0.006916, abs=1e-6)


@given(count=st.integers(1, 60), length=st.floats(0, 1))
def test_rayleigh_is_a_probability_even_for_few(count, length):
    assert 0 <= rayleigh_probability(count=count, resultant_length=length) <= 1


def test_circular_deviation_is_the_root_of_twice_the_log():
    _, length = resultant(MILWAUKEE)
    expected = np.rad2deg(np.sqrt(-2 * np.log(length)))
    assert circular_deviation_deg(MILWAUKEE) == pytest.approx(expected)
    assert circular_deviation_deg([0, 180]) == np.inf


@pytest.mark.parametrize(
    ("angles", "mean", "deviation"),
    [
        # Yamartino (1984), computed.
        ([350, 355, 0, 5, 10], 0.0, 7.0700),
        ([340, 10, 20, 350, 0, 30], 5.0, 17.0979),
        ([0, 90], 45.0, 47.4613),
    ],
)
def test_yamartino(angles, mean, deviation):
    ours, _ = resultant(angles)
    assert ours is not None
    assert abs(turn_deg(mean, ours)) < 1e-6
    assert yamartino_deviation_deg(angles) == pytest.approx(deviation, abs=5e-5)


def test_even_directions_have_no_mean_and_yamartinos_greatest_deviation():
    even = np.arange(36) * 10
    assert resultant(even)[0] is None
    assert yamartino_deviation_deg(even) == pytest.approx(180 / np.sqrt(3), abs=1e-6)


def test_an_hours_deviation_is_the_root_mean_square_of_its_quarters():
    # EPA-454/R-99-005, from memory.
    assert combined_deviation_deg([10, 12, 8, 14]) == pytest.approx(11.2250, abs=5e-5)


def test_beaufort_lower_limits():
    # Dutch weather service's table, m/s.
    limits = np.array([0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2])
    assert beaufort_force(limits).tolist() == [1, 2, 3, 4, 5, 6, 7, 8]
    assert beaufort_force(limits - 0.01).tolist() == [0, 1, 2, 3, 4, 5, 6, 7]


def test_the_mean_of_no_directions_is_refused():
    with pytest.raises(ValueError, match="no directions"):
        resultant([])
