"""Geometry is taken only when it is what it seems to be, and a refusal says why and where."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon, box, shape

from properties.land.geodesy import LocalFrame
from properties.land.geometry import (
    InvalidGeometry,
    check_no_crs,
    outside_by_m,
    parse_geometry,
    to_geojson,
)
from properties.land.limits import ImportLimits

LON, LAT = -91.2, 38.6
PROPERTY = box(LON, LAT, LON + 0.02, LAT + 0.02)
SQUARE = [[0.0, 0.0], [0.01, 0.0], [0.01, 0.01], [0.0, 0.01], [0.0, 0.0]]


def polygon(*rings):
    return {"type": "Polygon", "coordinates": list(rings)}


def refusal(value, **options):
    with pytest.raises(InvalidGeometry) as caught:
        parse_geometry(value, **options)
    return caught.value


def test_a_self_crossing_ring_is_refused_with_the_place_of_the_crossing():
    bow_tie = polygon([[0, 0], [0.02, 0.02], [0.02, 0], [0, 0.02], [0, 0]])
    problem = refusal(bow_tie, pointer="/features/2/geometry", feature="North plot")
    assert problem.feature == "North plot"
    assert problem.pointer == "/features/2/geometry/coordinates"
    assert "crosses itself at latitude 0.010000, longitude 0.010000" in problem.detail
    assert "North plot" in str(problem)


def test_a_hole_outside_its_ring_is_refused():
    hole = [[1, 1], [1, 1.01], [1.01, 1.01], [1, 1]]
    assert "hole outside" in refusal(polygon(SQUARE, hole)).detail


@pytest.mark.parametrize(
    ("value", "pointer", "words"),
    [
        (None, "", "geometry object"),
        ({"type": "Circle", "coordinates": [0, 0]}, "/type", "one of Point"),
        ({"type": ["Point"], "coordinates": [0, 0]}, "/type", "one of Point"),
        ({"type": "GeometryCollection", "geometries": []}, "", "own feature"),
        ({"type": "Point"}, "", "no coordinates"),
        ({"type": "Point", "coordinates": []}, "/coordinates", "two numbers"),
        ({"type": "Point", "coordinates": [1]}, "/coordinates", "two numbers"),
        ({"type": "Point", "coordinates": [1, 2, 3, 4]}, "/coordinates", "holds 4 numbers"),
        ({"type": "Point", "coordinates": [[1, 2]]}, "/coordinates", "nested too deep"),
        ({"type": "Point", "coordinates": ["1", 2]}, "/coordinates/0", "must be a number"),
        ({"type": "Point", "coordinates": [True, 2]}, "/coordinates/0", "must be a number"),
        ({"type": "Point", "coordinates": [math.nan, 2]}, "/coordinates/0", "finite"),
        ({"type": "Point", "coordinates": [1, math.inf]}, "/coordinates/1", "finite"),
        ({"type": "Point", "coordinates": [1, 10**400]}, "/coordinates/1", "finite"),
        ({"type": "Point", "coordinates": [1, 2, math.nan]}, "/coordinates/2", "finite"),
        ({"type": "Point", "coordinates": "1,2"}, "/coordinates", "position"),
        ({"type": "LineString", "coordinates": []}, "/coordinates", "empty"),
        ({"type": "LineString", "coordinates": [[0, 0]]}, "/coordinates", "at least 2"),
        ({"type": "LineString", "coordinates": [[0, 0], [0, 0]]}, "/coordinates", "one point"),
        ({"type": "LineString", "coordinates": 7}, "/coordinates", "array"),
        (polygon([[0, 0], [1, 0], [0, 0]]), "/coordinates/0", "at least 4 positions; it has 3"),
        (polygon(SQUARE[:-1]), "/coordinates/0", "not closed"),
        (polygon(SQUARE, []), "/coordinates/1", "empty"),
        (polygon([[0, 0], [1, 1], [2, 2], [0, 0]]), "/coordinates", "crosses itself"),
    ],
)
def test_a_broken_geometry_is_refused_at_the_place_where_it_is_broken(value, pointer, words):
    problem = refusal(value)
    assert problem.pointer == pointer
    assert words in problem.detail


def test_deep_nesting_is_refused_without_following_it():
    nested = [1, 2]
    for _ in range(100_000):
        nested = [nested]
    assert "nested too deep" in refusal({"type": "MultiPolygon", "coordinates": nested}).detail


def test_too_many_positions_are_refused():
    line = {"type": "LineString", "coordinates": [[index / 1000, 0] for index in range(101)]}
    limits = ImportLimits(max_vertices=100)
    assert "too many positions" in refusal(line, limits=limits).detail
    line["coordinates"].pop()
    assert len(parse_geometry(line, limits=limits).coords) == 100


def test_a_latitude_beyond_90_is_taken_for_swapped_axes():
    problem = refusal({"type": "Point", "coordinates": [38.6, -91.2]})
    assert problem.pointer == "/coordinates"
    assert "latitude -91.2 lies beyond ±90" in problem.detail
    assert "swapped" in problem.detail


def test_projected_metres_are_recognised():
    problem = refusal({"type": "Point", "coordinates": [656000.0, 4274000.0]})
    assert "projected metres" in problem.detail


def test_a_longitude_beyond_180_speaks_of_the_antimeridian():
    assert "antimeridian" in refusal({"type": "Point", "coordinates": [181, 10]}).detail


def test_a_ring_that_jumps_over_the_antimeridian_is_refused():
    ring = [[179.9, 0], [-179.9, 0], [-179.9, 1], [179.9, 1], [179.9, 0]]
    assert "crosses the antimeridian" in refusal(polygon(ring)).detail


def test_swapped_axes_inside_the_ranges_are_found_by_the_property():
    area = box(20.0, 45.0, 20.02, 45.02)
    inside = {"type": "Point", "coordinates": [20.01, 45.01]}
    swapped = {"type": "Point", "coordinates": [45.01, 20.01]}
    assert parse_geometry(inside, within=area) == Point(20.01, 45.01)
    assert "swapped" in refusal(swapped, within=area).detail


def test_a_place_outside_the_property_is_refused_with_its_distance():
    lon, lat = LocalFrame(origin_lon=LON, origin_lat=LAT + 0.01).to_degrees(-340, 0)
    west_of_it = {"type": "Point", "coordinates": [float(lon), float(lat)]}
    assert "reaches 340 m outside" in refusal(west_of_it, within=PROPERTY).detail
    far = {"type": "Point", "coordinates": [-80, 38.6]}
    assert " km outside" in refusal(far, within=PROPERTY).detail


def test_a_fix_a_few_metres_over_the_line_is_accepted():
    lon, lat = LocalFrame(origin_lon=LON, origin_lat=LAT + 0.01).to_degrees(-20, 0)
    near = {"type": "Point", "coordinates": [float(lon), float(lat)]}
    assert parse_geometry(near, within=PROPERTY).geom_type == "Point"
    assert (
        "20 m outside"
        in refusal(near, within=PROPERTY, limits=ImportLimits(outside_tolerance_m=5)).detail
    )


def test_the_part_of_a_line_that_leaves_between_its_corners_counts():
    notched = Polygon([(0, 0), (0.03, 0), (0.03, 0.02), (0.02, 0.02), (0.02, 0.01), (0.01, 0.01),
                       (0.01, 0.02), (0, 0.02)])  # fmt: skip
    across = shape({"type": "LineString", "coordinates": [[0.005, 0.019], [0.025, 0.019]]})
    # The middle of the notch is 0.005° of longitude, 556.6 m on the equator, from either side.
    assert outside_by_m(across, notched) == pytest.approx(556.6, abs=3)


@pytest.mark.parametrize(
    "crs",
    [
        None,
        "EPSG:26915",
        {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::26915"}},
        {"type": "link", "properties": {}},
    ],
)
def test_a_coordinate_system_of_its_own_is_refused(crs):
    problem = refusal({"type": "Point", "coordinates": [0, 0], "crs": crs})
    assert problem.pointer == "/crs"
    assert "WGS 84" in problem.detail


def test_the_old_name_of_plain_longitude_and_latitude_is_passed_over():
    name = {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}
    check_no_crs({"crs": {"type": "name", "properties": name}})
    point = {"type": "Point", "coordinates": [1, 2], "crs": {"type": "name", "properties": name}}
    assert parse_geometry(point) == Point(1, 2)


def test_only_the_shapes_asked_for_are_taken():
    problem = refusal({"type": "Point", "coordinates": [0, 0]}, shapes={"Polygon", "MultiPolygon"})
    assert problem.pointer == "/type"
    assert "MultiPolygon or Polygon is needed" in problem.detail


def test_rings_are_written_outside_counterclockwise_and_holes_clockwise():
    hole = [[0.002, 0.002], [0.004, 0.002], [0.004, 0.004], [0.002, 0.004], [0.002, 0.002]]
    clockwise = polygon(SQUARE[::-1], hole)
    written = shape(to_geojson(parse_geometry(clockwise)))
    assert written.exterior.is_ccw
    assert not written.interiors[0].is_ccw


def test_a_geometry_from_elsewhere_is_turned_and_flattened_when_written():
    clockwise = Polygon([(0, 0, 5), (0, 1, 5), (1, 1, 5), (1, 0, 5), (0, 0, 5)])
    written = to_geojson(clockwise)
    assert shape(written).exterior.is_ccw
    assert all(len(position) == 2 for position in written["coordinates"][0])


def test_coordinates_are_written_with_6_decimals():
    written = to_geojson(parse_geometry({"type": "Point", "coordinates": [-91.123456789, -1e-9]}))
    assert json.dumps(written) == '{"type": "Point", "coordinates": [-91.123457, 0.0]}'


def test_a_shape_finer_than_6_decimals_is_refused():
    tiny = polygon([[0, 0], [1e-8, 0], [1e-8, 1e-8], [0, 0]])
    assert "6 decimals" in refusal(tiny).detail


def test_a_detail_finer_than_6_decimals_does_not_spoil_a_ring():
    # A spit 3e-7 degrees wide: rounding closes it.
    ring = [[0, 0], [0.01, 0], [0.01, 0.005], [0.02, 0.005], [0.02, 0.0050003], [0.01, 0.0050003],
            [0.01, 0.01], [0, 0.01], [0, 0]]  # fmt: skip
    taken = parse_geometry(polygon(ring))
    assert taken.is_valid
    assert taken.area == pytest.approx(1e-4, rel=1e-3)


def test_every_part_of_a_multipolygon_is_checked_and_turned():
    other = [[lon + 1, lat] for lon, lat in SQUARE]
    parts = {"type": "MultiPolygon", "coordinates": [[SQUARE], [other[::-1]]]}
    assert all(part.exterior.is_ccw for part in parse_geometry(parts).geoms)
    parts["coordinates"][1][0] = other[:-1]
    assert refusal(parts).pointer == "/coordinates/1/0"
    parts["coordinates"][1][0] = [[lon + 0.005, lat] for lon, lat in SQUARE]
    assert "crosses itself" in refusal(parts).detail


def test_points_and_lines_of_several_parts_keep_their_parts():
    points = {"type": "MultiPoint", "coordinates": [[0, 0], [1, 1]]}
    lines = {"type": "MultiLineString", "coordinates": [[[0, 0], [1, 1]], [[2, 2], [3, 3]]]}
    for value in (points, lines):
        assert json.loads(json.dumps(to_geojson(parse_geometry(value)))) == value
    lines["coordinates"][1].pop()
    assert refusal(lines).pointer == "/coordinates/1"


def test_the_third_number_of_a_point_is_written_back():
    written = to_geojson(Point(1, 2), height_m=210.5)
    assert written["coordinates"] == [1.0, 2.0, 210.5]


corners = st.tuples(st.floats(-179, 179), st.floats(-89, 89), st.floats(0.001, 0.9))


@given(st.lists(corners, min_size=1, max_size=1), st.booleans())
def test_what_is_written_reads_back_as_the_same_geometry(corner, reverse):
    [(lon, lat, size)] = corner
    ring = box(lon, lat, lon + size, lat + size).exterior.coords[:]
    taken = parse_geometry(polygon(ring[::-1] if reverse else ring))
    written = json.loads(json.dumps(to_geojson(taken)))
    assert parse_geometry(written) == taken
    assert to_geojson(parse_geometry(written)) == written
