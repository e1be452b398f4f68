"""Which places a closed part of the land concerns, by distances worked out by hand.

The ground is near the equator's 0° meridian, where a thousandth of a degree is about 111 m
(WGS 84: 111.32 m of longitude, 110.57 m of latitude at the equator).
"""

import pytest
from shapely.geometry import LineString, Point, box

from properties.land.closed_parts import Reached, reached_by

EAST_SIDE = box(0.010, 0.0, 0.020, 0.010)
TRACK = LineString([(0.0, 0.005), (0.020, 0.005)])


def asked(part, longitude, latitude, *ways, margin_m=20.0):
    return reached_by(
        part, longitude=longitude, latitude=latitude, ways=list(ways), margin_m=margin_m
    )


@pytest.mark.parametrize(
    ("longitude", "found"),
    [(0.015, Reached.PLACE), (0.010, Reached.PLACE), (0.00999, None), (0.005, None)],
)
def test_an_area_is_closed_as_drawn_with_its_edge(longitude, found):
    assert asked(EAST_SIDE, longitude, 0.005) == found


def test_a_stand_outside_is_closed_when_a_way_to_it_leads_through():
    through = LineString([(0.025, 0.005), (0.005, 0.005)])
    around = LineString([(0.0, 0.0), (0.005, 0.005)])
    assert asked(EAST_SIDE, 0.005, 0.005, around) is None
    assert asked(EAST_SIDE, 0.005, 0.005, around, through) is Reached.WAY


@pytest.mark.parametrize(("metres", "found"), [(19.0, Reached.PLACE), (21.0, None)])
def test_a_closed_way_closes_what_lies_within_the_margin_of_it(metres, found):
    assert asked(TRACK, 0.010, 0.005 + metres / 110_574) == found


def test_a_route_drawn_a_little_beside_a_closed_way_runs_on_it():
    beside = LineString([(0.0, 0.0051), (0.010, 0.0051), (0.010, 0.009)])
    assert asked(TRACK, 0.010, 0.009, beside) is Reached.WAY
    assert asked(TRACK, 0.010, 0.009, beside, margin_m=5.0) is None


def test_a_closed_point_is_a_circle():
    assert asked(Point(0.0, 0.0), 0.00017, 0.0) is Reached.PLACE  # 18.9 m
    assert asked(Point(0.0, 0.0), 0.00019, 0.0) is None  # 21.2 m
