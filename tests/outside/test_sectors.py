"""Compass sectors by the 8- and 16-point compass; shares against the von Mises distribution."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import vonmises

from properties.wind.sectors import (
    between_sectors,
    per_mille,
    sector_chances,
    sector_name,
    sector_of,
)
from properties.wind.wander import moments


@pytest.mark.parametrize(
    ("degrees", "name"),
    # The points of the compass, each in the middle of its sector.
    [
        (0, "N"),
        (45, "NE"),
        (90, "E"),
        (135, "SE"),
        (180, "S"),
        (225, "SW"),
        (270, "W"),
        (315, "NW"),
    ],
)
def test_sectors_are_centred_on_the_points_of_the_compass(degrees, name):
    for turn in (-22.4, 0, 22.4):
        assert sector_name(int(sector_of((degrees + turn) % 360))) == name


def test_sixteen_sectors():
    ours = [sector_name(int(index), count=16) for index in sector_of([22.5, 337.5, 360], count=16)]
    assert ours == ["NNE", "NNW", "N"]


def test_a_boundary_belongs_to_the_sector_clockwise_of_it():
    assert sector_of([22.5, 337.5]).tolist() == [1, 0]


def test_no_direction_has_no_sector():
    assert sector_of([np.nan, 90.0]).tolist() == [-1, 2]


def test_names_exist_for_eight_and_sixteen():
    with pytest.raises(ValueError, match="8 or 16"):
        sector_name(0, count=12)


@given(mean=st.floats(0, 360), spread_deg=st.floats(5, 80))
def test_sector_chances_are_those_of_a_von_mises_distribution(mean, spread_deg):
    # scipy.stats.vonmises is the reference.
    kappa = 1 / np.deg2rad(spread_deg) ** 2
    ours = sector_chances(moments(np.deg2rad(spread_deg), count=120), mean)
    edges = np.deg2rad((np.arange(9) - 0.5) * 45.0 - mean)
    expected = np.diff(vonmises.cdf(edges, kappa))
    assert ours == pytest.approx(expected, abs=2e-3)


@given(st.lists(st.floats(0, 1), min_size=8, max_size=8))
def test_thousandths_sum_to_a_thousand_or_nothing(shares):
    ours = per_mille(np.array(shares))
    assert ours.sum() == (1000 if sum(shares) > 0 else 0)
    assert (ours >= 0).all()
    if sum(shares) > 0:
        assert np.abs(ours - 1000 * np.array(shares) / sum(shares)).max() < 1.0


def test_local_values_turn_smoothly_between_sectors():
    table = np.array([0.0, 10, 20, 30, 40, 30, 20, 10])
    assert between_sectors(table, [0, 22.5, 45, 337.5, 359.999]) == pytest.approx(
        [0, 5, 10, 5, 0], abs=1e-3
    )
