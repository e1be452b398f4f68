"""Coordinates as they are read out, against published conversions and a reference library."""

import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from skyfield.units import Angle

from properties.emergency.coordinates import decimal_degrees, degrees_minutes


def test_a_published_conversion_of_all_three_forms():
    """45° 22′ 38″ = 45° 22.6333′ = 45.3772°.

    M. Hotka, Guide for Converting Latitude/Longitude Coordinates, example 1
    (mikehotka.com/Converting_Degrees-Minutes-Seconds.htm); two decimals fewer are shown here.
    """
    latitude = 45 + 22 / 60 + 38 / 3600
    shown = degrees_minutes(latitude=latitude, longitude=-latitude)
    assert shown == "45° 22.633′ N, 045° 22.633′ W"
    assert decimal_degrees(latitude=latitude, longitude=-latitude) == "45.37722, -45.37722"


@pytest.mark.parametrize(
    ("latitude", "longitude", "shown"),
    [
        (43.0, -91.0, "43° 00.000′ N, 091° 00.000′ W"),
        (59.9999999, 9.9999999, "60° 00.000′ N, 010° 00.000′ E"),
        (-0.5, 0.0, "00° 30.000′ S, 000° 00.000′ E"),
        (0.0, -180.0, "00° 00.000′ N, 180° 00.000′ W"),
        (90.0, 180.0, "90° 00.000′ N, 180° 00.000′ E"),
    ],
)
def test_minutes_never_reach_sixty_and_both_halves_of_the_world_have_their_letters(
    latitude, longitude, shown
):
    assert degrees_minutes(latitude=latitude, longitude=longitude) == shown


def test_no_minus_zero_is_read_out():
    assert decimal_degrees(latitude=-0.0000001, longitude=0.0) == "0.00000, 0.00000"


@given(st.floats(-90, 90), st.floats(-180, 180))
@example(43.20312, -91.50127)
def test_degrees_minutes_agree_with_the_degrees_minutes_seconds_of_skyfield(latitude, longitude):
    shown = degrees_minutes(latitude=latitude, longitude=longitude)
    read = re.findall(r"(\d+)° (\d+\.\d+)′ ([NSEW])", shown)
    assert [letter for *_rest, letter in read] == [
        "S" if latitude < 0 else "N",
        "W" if longitude < 0 else "E",
    ]
    for (degrees, minutes, _letter), value in zip(read, (latitude, longitude), strict=True):
        assert float(minutes) < 60
        full, arcminutes, arcseconds = Angle(degrees=abs(value)).dms()
        told = int(degrees) * 60 + float(minutes)
        assert told == pytest.approx(full * 60 + arcminutes + arcseconds / 60, abs=0.0005001)
