"""Units and geodesy against published values."""

import pytest
from pyproj import Geod

from properties.land import units
from properties.land.geodesy import bearing_deg, destination, distance_m

# Geoscience Australia, worked example of the inverse problem on GRS 80 (from memory):
# Flinders Peak to Buninyong.
FLINDERS_PEAK = (144 + 25 / 60 + 29.52440 / 3600, -(37 + 57 / 60 + 3.72030 / 3600))
BUNINYONG = (143 + 55 / 60 + 35.38390 / 3600, -(37 + 39 / 60 + 10.15610 / 3600))
LINE_M = 54972.271
LINE_BEARING_DEG = 306 + 52 / 60 + 5.37 / 3600


def test_flinders_peak_to_buninyong_is_as_long_as_published():
    # WGS 84 and GRS 80 differ by 0.1 mm in the semi-minor axis.
    assert distance_m(*FLINDERS_PEAK, *BUNINYONG) == pytest.approx(LINE_M, abs=0.0006)
    bearing = bearing_deg(*FLINDERS_PEAK, *BUNINYONG)
    assert bearing == pytest.approx(LINE_BEARING_DEG, abs=0.006 / 3600)


def test_the_published_bearing_and_distance_lead_to_buninyong():
    lon, lat = destination(*FLINDERS_PEAK, LINE_BEARING_DEG, LINE_M)
    # 0.005 arcsecond of bearing over 55 km is 1.3 mm.
    assert lon == pytest.approx(BUNINYONG[0], abs=2e-8)
    assert lat == pytest.approx(BUNINYONG[1], abs=2e-8)


def test_the_quarter_meridian_has_its_known_length():
    # 10 001 965.729 m on WGS 84 (Moritz 1980 gives 10 001 965.7293 for GRS 80; from memory).
    assert distance_m(0, 0, 0, 90) == pytest.approx(10_001_965.729, abs=0.001)
    assert Geod(ellps="WGS84").a == 6_378_137.0


def test_units_are_exact_by_definition():
    # International yard and pound agreement, 1959: 1 yd = 0.9144 m; the rest follows.
    assert units.METRES_PER_YARD == 0.9144
    assert pytest.approx(3 * units.METRES_PER_FOOT, rel=1e-15) == units.METRES_PER_YARD
    assert pytest.approx(36 * units.METRES_PER_INCH, rel=1e-15) == units.METRES_PER_YARD
    assert pytest.approx(4840 * 0.9144**2, rel=1e-15) == units.SQUARE_METRES_PER_ACRE
    assert units.SQUARE_METRES_PER_ACRE == 4046.8564224
    mile_m = 1760 * units.METRES_PER_YARD
    assert pytest.approx(mile_m / 3600, rel=1e-15) == units.METRES_PER_SECOND_PER_MILE_PER_HOUR
    assert units.METRES_PER_SECOND_PER_MILE_PER_HOUR == 0.44704
    # International nautical mile, 1929: 1852 m.
    assert pytest.approx(1852, rel=1e-15) == units.METRES_PER_SECOND_PER_KNOT * 3600
    assert units.MILLIMETRES_PER_INCH == 25.4


def test_a_square_mile_is_640_acres():
    # By definition of the survey section: 640 acres a square mile.
    mile_m = 1760 * units.METRES_PER_YARD
    shown = units.show(mile_m**2, units.Quantity.AREA, units.UnitSystem.US)
    assert shown.value == pytest.approx(640, rel=1e-12)
    assert shown.text == "640.0 acre"
