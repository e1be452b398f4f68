"""Distances, areas and the local frame."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiLineString, MultiPolygon, Point, Polygon, box

from properties.land.geodesy import (
    LocalFrame,
    area_acres,
    area_ha,
    area_m2,
    bearing_deg,
    destination,
    distance_m,
    frame_around,
    length_m,
)

LON, LAT = -91.2, 38.6


def test_bearings_follow_the_compass_and_never_reach_360():
    lon, lat = destination(LON, LAT, [0, 90, 180, 270, 359.9999], [500] * 5)
    bearings = bearing_deg(LON, LAT, lon, lat)
    assert bearings == pytest.approx([0, 90, 180, 270, 359.9999], abs=1e-6)
    assert np.all((bearings >= 0) & (bearings < 360))


def test_a_point_has_no_bearing_to_itself():
    assert np.isnan(bearing_deg(LON, LAT, LON, LAT))
    assert distance_m(LON, LAT, LON, LAT) == 0


def test_distances_broadcast_stands_against_features():
    lon = np.array([[LON], [LON + 0.01]])
    to_lon = np.array([LON, LON + 0.01, LON + 0.02])
    metres = distance_m(lon, LAT, to_lon, LAT)
    assert metres.shape == (2, 3)
    assert metres[0, 1] == pytest.approx(metres[1, 0])


@given(
    origin_lat=st.floats(-85, 85),
    origin_lon=st.floats(-180, 180),
    east=st.floats(-10_000, 10_000),
    north=st.floats(-10_000, 10_000),
)
def test_the_local_frame_leads_there_and_back(origin_lat, origin_lon, east, north):
    frame = LocalFrame(origin_lon=origin_lon, origin_lat=origin_lat)
    back_east, back_north = frame.to_metres(*frame.to_degrees(east, north))
    assert back_east == pytest.approx(east, abs=1e-6)
    assert back_north == pytest.approx(north, abs=1e-6)


@given(bearing=st.floats(0, 360, exclude_max=True), metres=st.floats(1, 5_000))
def test_distance_and_bearing_from_the_origin_are_kept(bearing, metres):
    lon, lat = destination(LON, LAT, bearing, metres)
    east, north = LocalFrame(origin_lon=LON, origin_lat=LAT).to_metres(lon, lat)
    assert np.hypot(east, north) == pytest.approx(metres, abs=1e-6)
    assert np.cos(np.arctan2(east, north) - np.radians(bearing)) == pytest.approx(1)


def test_distances_between_other_points_stay_true_to_a_millimetre_within_a_property():
    frame = LocalFrame(origin_lon=LON, origin_lat=LAT)
    lon, lat = frame.to_degrees([3_000, 2_000], [-3_000, -3_000])
    assert distance_m(lon[0], lat[0], lon[1], lat[1]) == pytest.approx(1_000, abs=1e-3)


def test_the_local_frame_holds_across_the_antimeridian():
    east, _ = LocalFrame(origin_lon=179.999, origin_lat=-17).to_metres(-179.999, -17)
    assert east == pytest.approx(distance_m(179.999, -17, -179.999, -17), rel=1e-6)
    assert east > 0


def test_an_area_is_the_same_whichever_way_its_ring_turns():
    square = box(LON, LAT, LON + 0.01, LAT + 0.01)
    assert area_m2(square.reverse()) == pytest.approx(area_m2(square))
    assert area_m2(square) > 0


def test_a_hole_is_taken_out_and_parts_are_added():
    outer = box(LON, LAT, LON + 0.01, LAT + 0.01)
    hole = box(LON + 0.002, LAT + 0.002, LON + 0.004, LAT + 0.004)
    holed = Polygon(outer.exterior.coords, [hole.exterior.coords])
    other = box(LON + 1, LAT, LON + 1.01, LAT + 0.01)
    assert area_m2(holed) == pytest.approx(area_m2(outer) - area_m2(hole))
    assert area_m2(MultiPolygon([holed, other])) == pytest.approx(area_m2(holed) + area_m2(other))
    assert area_m2(Polygon()) == 0


def test_a_kilometre_square_laid_out_in_metres_has_100_hectares():
    frame = LocalFrame(origin_lon=LON, origin_lat=LAT)
    square = frame.geometry_to_degrees(box(-500, -500, 500, 500))
    assert area_ha(square) == pytest.approx(100, rel=1e-6)
    assert area_acres(square) == pytest.approx(247.105, abs=1e-3)


def test_the_gap_between_parts_of_a_track_has_no_length():
    first = LineString([(LON, LAT), (LON + 0.001, LAT)])
    second = LineString([(LON + 0.01, LAT), (LON + 0.011, LAT)])
    assert length_m(MultiLineString([first, second])) == pytest.approx(
        length_m(first) + length_m(second)
    )


def test_a_frame_around_a_shape_starts_inside_it():
    horseshoe = Polygon([(0, 0), (3, 0), (3, 3), (2, 3), (2, 1), (1, 1), (1, 3), (0, 3)])
    frame = frame_around(horseshoe)
    assert horseshoe.contains(Point(frame.origin_lon, frame.origin_lat))
