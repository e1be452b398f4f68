"""Distances, bearings and arcs around a stand, against answers worked out by hand."""

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from properties.land.geodesy import destination
from scheduling.rules.facts import HazardKind
from scheduling.sits.surroundings import (
    MappedHazard,
    StandPoint,
    hazards_around,
    stands_in_arcs,
)

LON, LAT = -91.5, 43.2


def stand(stand_id="here", lon=LON, lat=LAT, arc=(0.0, 0.0)):
    return StandPoint(
        stand_id=stand_id, longitude=lon, latitude=lat, arc_from_deg=arc[0], arc_to_deg=arc[1]
    )


def at(bearing, distance):
    lon, lat = destination(LON, LAT, bearing, distance)
    return float(lon), float(lat)


def hazard(*places):
    shape = shapely.Point(places[0]) if len(places) == 1 else shapely.LineString(places)
    return MappedHazard(kind=HazardKind.HAZARD, name="Thing", geometry=shape)


def test_a_point_has_its_distance_and_one_bearing():
    (found,) = hazards_around(stand(), [hazard(at(75, 320))])

    assert found.distance_m == pytest.approx(320, abs=0.01)
    assert found.from_bearing_deg == pytest.approx(75, abs=0.01)
    assert found.to_bearing_deg == pytest.approx(75, abs=0.01)


def test_a_line_across_north_fills_the_span_through_north():
    (found,) = hazards_around(stand(), [hazard(at(350, 200), at(20, 200))])

    assert found.from_bearing_deg == pytest.approx(350, abs=0.01)
    assert found.to_bearing_deg == pytest.approx(20, abs=0.01)
    # The chord's middle: 200 m times the cosine of half of the 30 degrees between its ends.
    assert found.distance_m == pytest.approx(200 * math.cos(math.radians(15)), abs=0.05)


def test_a_ring_round_the_stand_fills_every_bearing():
    ring = hazard(*(at(bearing, 500) for bearing in (0, 90, 180, 270, 0)))

    (found,) = hazards_around(stand(), [ring])

    width = (found.to_bearing_deg - found.from_bearing_deg) % 360
    assert width == pytest.approx(360, abs=0.01)


def test_a_stand_inside_an_area_has_it_at_no_distance():
    area = shapely.Polygon([at(bearing, 500) for bearing in (0, 90, 180, 270)])
    mapped = MappedHazard(kind=HazardKind.SANCTUARY, name="Refuge", geometry=area)

    (found,) = hazards_around(stand(), [mapped])

    assert found.distance_m == 0.0


def test_only_what_lies_in_the_arc_counts_for_the_arc():
    near_behind_far_in_front = hazard(at(180, 50), at(90, 50), at(0, 400))

    (found,) = hazards_around(stand(arc=(350.0, 10.0)), [near_behind_far_in_front])
    (outside,) = hazards_around(stand(arc=(200.0, 250.0)), [near_behind_far_in_front])

    assert found.distance_m < 50
    # From (50 m, east) to (400 m, north) the line meets bearing 10° where
    # r (cos 10° / 400 + sin 10° / 50) = 1.
    along = 1 / (math.cos(math.radians(10)) / 400 + math.sin(math.radians(10)) / 50)
    assert found.nearest_in_arc_m == pytest.approx(along, abs=0.5)
    assert outside.nearest_in_arc_m == math.inf


@given(
    bearing=st.floats(0, 359),
    distance=st.floats(20, 5_000),
    arc_from=st.floats(0, 359),
    width=st.floats(1, 350),
)
def test_the_arcs_nearest_point_is_never_nearer_than_the_nearest_and_agrees_with_the_bearing(
    bearing, distance, arc_from, width
):
    arc_to = (arc_from + width) % 360
    (found,) = hazards_around(stand(arc=(arc_from, arc_to)), [hazard(at(bearing, distance))])

    assert found.nearest_in_arc_m >= found.distance_m - 1e-6
    into = (bearing - arc_from) % 360
    if 0.01 < into < width - 0.01:
        assert found.nearest_in_arc_m == pytest.approx(distance, rel=1e-6)
    elif width + 0.01 < into < 359.99:
        assert found.nearest_in_arc_m == math.inf


def neighbour(bearing, distance, arc=(0.0, 0.0)):
    lon, lat = at(bearing, distance)
    return stand("there", lon, lat, arc)


@pytest.mark.parametrize(
    ("here_arc", "there_arc", "reach_m", "endangered"),
    [
        ((0, 0), (0, 0), 400, True),
        ((0, 0), (0, 0), 299, False),
        ((60, 120), (60, 120), 400, True),
        ((240, 300), (60, 120), 400, False),
        ((240, 300), (240, 300), 400, True),
        ((350, 10), (170, 190), 400, False),
    ],
)
def test_one_arc_that_covers_the_other_stand_within_reach_is_enough(
    here_arc, there_arc, reach_m, endangered
):
    """The other stand lies 300 m due east, so this one lies due west of it."""
    pair = [stand(arc=here_arc), neighbour(90, 300, there_arc)]

    found = list(stands_in_arcs(pair, {"here": reach_m, "there": reach_m}))

    assert bool(found) is endangered
    assert all(each.distance_m == pytest.approx(300, abs=0.5) for each in found)


def test_who_endangers_whom_is_told_by_the_shooters_own_arc_and_reach():
    """The other stand lies due east; only this one's arc points that way."""
    pair = [stand(arc=(60, 120)), neighbour(90, 300, (60, 120))]

    def shooters(here_m, there_m):
        near = stands_in_arcs(pair, {"here": here_m, "there": there_m})
        return [(each.shooter_id, each.other_id) for each in near]

    assert shooters(400, 400) == [("here", "there")]
    assert shooters(299, 4_000) == []


def test_two_stands_in_one_place_endanger_each_other_and_no_stand_itself():
    pair = [stand(arc=(0.0, 10.0)), stand("there", arc=(0.0, 10.0))]

    both = {
        (each.shooter_id, each.other_id)
        for each in stands_in_arcs(pair, {"here": 400, "there": 400})
    }
    assert both == {("here", "there"), ("there", "here")}
    assert list(stands_in_arcs(pair[:1], {"here": 400})) == []
