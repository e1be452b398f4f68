"""Turner's (1964) table and insolation classes, and Pasquill's table as a neighbour."""

import itertools

import pytest

from properties.wind.stability import (
    insolation_class,
    net_radiation_index,
    stability_class,
    turner_number,
)

KNOT_MPS = 1852.0 / 3600.0

# Turner (1964): classes for net radiation index 4, 3, 2, 1, 0, -1, -2.
TURNER_1964 = {
    0: "1123467", 1: "1123467", 2: "1223467", 3: "1223467", 4: "1234456", 5: "1234456",
    6: "2234456", 7: "2234445", 8: "2334445", 9: "2334445", 10: "3344445", 11: "3344444",
    12: "3444444", 20: "3444444",
}  # fmt: skip


@pytest.mark.parametrize("knots", TURNER_1964)
def test_turner_classes(knots):
    ours = turner_number(knots * KNOT_MPS, [4, 3, 2, 1, 0, -1, -2])
    assert "".join(str(number) for number in ours) == TURNER_1964[knots]


def test_insolation_classes_by_sun_elevation():
    # Turner (1964): above 60° 4, 35–60° 3, 15–35° 2, below 1.
    assert insolation_class([70, 61, 59, 36, 34, 16, 14, 1]).tolist() == [4, 4, 3, 3, 2, 2, 1, 1]


def test_net_radiation_index_by_night_and_by_day():
    # Turner (1964), from memory: clear night -2, cloudy night -1; day by insolation class.
    assert net_radiation_index([-5, -5, 65, 40], [0.3, 0.6, 0.4, 0.5]).tolist() == [-2, -1, 4, 3]


def test_an_overcast_counts_as_low_cloud_by_day_and_night():
    # Turner (1964), from memory: overcast with a ceiling below 7000 ft has index 0.
    assert net_radiation_index([-5, 65], 1.0).tolist() == [0, 0]


def test_broken_cloud_takes_a_class_by_day_but_never_below_one():
    # Turner (1964), from memory: middling ceiling, class less one, not below 1.
    assert net_radiation_index([65, 40, 5], 0.8).tolist() == [3, 2, 1]


# Pasquill (1961), Turner (1970) table 3-1: sun strong, moderate, slight; night cloudy, clear.
PASQUILL_1961 = [
    (1.0, ("A", "AB", "B", "E", "F")),
    (2.5, ("AB", "B", "C", "E", "F")),
    (4.0, ("B", "BC", "C", "D", "E")),
    (5.5, ("C", "CD", "D", "D", "D")),
    (8.0, ("C", "D", "D", "D", "D")),
]


@pytest.mark.parametrize(("speed", "classes"), PASQUILL_1961)
def test_turners_scheme_is_within_one_class_of_pasquills_table(speed, classes):
    ours = stability_class(
        speed_mps=speed, sun_elevation_deg=[65, 45, 20, -10, -10],
        cloud_fraction=[0, 0, 0, 0.6, 0.2],
    )  # fmt: skip
    for number, letters in zip(ours, classes, strict=True):
        assert min(abs(int(number) - "ABCDEF".index(letter)) for letter in letters) <= 1


def test_an_evening_turns_stable_as_the_sun_goes_down():
    ours = stability_class(
        speed_mps=2.0, sun_elevation_deg=[20, 8, -0.5, -1.0, -6], cloud_fraction=0.0
    )
    assert all(later >= earlier for earlier, later in itertools.pairwise(ours))
    assert ours[2] < 4 < ours[3]


def test_the_seventh_class_counts_as_the_sixth():
    assert turner_number(0.2, -2) == 7
    assert stability_class(speed_mps=0.2, sun_elevation_deg=-20, cloud_fraction=0) == 5
