"""GPX from real handhelds: untidy, sometimes hostile, never lost whole for one bad point."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiLineString, Point, Polygon, box

from properties.land.exchange import ExportedPlace, PlaceKind, clean_name
from properties.land.geometry import InvalidGeometry
from properties.land.gpx import read_gpx, write_gpx
from properties.land.limits import ImportLimits

NAMESPACE = 'xmlns="http://www.topografix.com/GPX/1/1"'


def gpx(body, attributes=f'version="1.1" creator="test" {NAMESPACE}', encoding="utf-8"):
    return f'<?xml version="1.0" encoding="{encoding}"?><gpx {attributes}>{body}</gpx>'.encode(
        encoding
    )


def track(*segments):
    points = (
        "".join(f'<trkpt lat="{lat}" lon="{lon}"/>' for lon, lat in segment) for segment in segments
    )
    return "".join(f"<trkseg>{segment}</trkseg>" for segment in points)


def test_a_waypoint_becomes_a_point_with_its_kind_height_and_texts():
    body = (
        '<wpt lat="38.6" lon="-91.2"><ele>210.5</ele><time>2024-09-01T12:00:00.5Z</time>'
        "<name>Oak ladder</name><desc>North side</desc><type>Stand</type></wpt>"
    )
    [place] = read_gpx(gpx(body)).taken
    assert place.kind == PlaceKind.STAND
    assert (place.name, place.geometry, place.height_m) == ("Oak ladder", Point(-91.2, 38.6), 210.5)
    assert place.properties == {"desc": "North side", "time": "2024-09-01T12:00:00.500000+00:00"}


def test_segments_of_a_track_are_not_joined():
    body = f"<trk><name>Trail</name>{track([(0, 0), (1, 0)], [(5, 5), (6, 5)])}</trk>"
    [place] = read_gpx(gpx(body)).taken
    assert place.geometry == MultiLineString([[(0, 0), (1, 0)], [(5, 5), (6, 5)]])


def test_a_segment_of_one_position_is_left_out_and_said_so():
    body = f"<trk><name>Trail</name>{track([(0, 0), (1, 0)], [(5, 5)])}</trk>"
    result = read_gpx(gpx(body))
    assert result.taken[0].geometry == LineString([(0, 0), (1, 0)])
    assert result.notes == ("/trk[1]/trkseg[2] of “Trail” has 1 positions and was left out",)


def test_a_route_becomes_a_line():
    body = '<rte><name>In</name><rtept lat="0" lon="0"/><rtept lat="0" lon="1"/></rte>'
    assert read_gpx(gpx(body)).taken[0].geometry == LineString([(0, 0), (1, 0)])


@pytest.mark.parametrize("body", ["<trk/>", "<trk><trkseg/></trk>", "<rte/>"])
def test_empty_tracks_and_routes_are_skipped_by_name(body):
    result = read_gpx(gpx(body + '<wpt lat="1" lon="2"/>'))
    assert len(result.taken) == 1
    assert "is empty" in result.skipped[0].detail
    assert result.skipped[0].pointer in ("/trk[1]", "/rte[1]")


@pytest.mark.parametrize(
    ("attributes", "pointer", "words"),
    [
        ('lat="95" lon="2"', "/wpt[2]/@lat", "lat 95 lies beyond ±90"),
        ('lat="1" lon="200"', "/wpt[2]/@lon", "lon 200 lies beyond ±180"),
        ('lat="nan" lon="2"', "/wpt[2]/@lat", "lies beyond"),
        ('lat="1,5" lon="2"', "/wpt[2]/@lat", "is not a number"),
        ('lat="1"', "/wpt[2]/@lon", "has no lon"),
    ],
)
def test_a_bad_waypoint_is_named_and_the_others_are_taken(attributes, pointer, words):
    body = f'<wpt lat="1" lon="2"/><wpt {attributes}><name>Bad</name></wpt><wpt lat="3" lon="4"/>'
    result = read_gpx(gpx(body))
    assert [place.name for place in result.taken] == ["wpt 1", "wpt 3"]
    [skipped] = result.skipped
    assert (skipped.index, skipped.name, skipped.pointer) == (1, "Bad", pointer)
    assert words in skipped.detail


def test_a_bad_point_of_a_track_is_named_by_its_path():
    body = f"<trk>{track([(0, 0), (1, 0)], [(0, 0), (0, 91)])}</trk>"
    assert read_gpx(gpx(body)).skipped[0].pointer == "/trk[1]/trkseg[2]/trkpt[2]/@lat"


@pytest.mark.parametrize("height", ["", "undefined", "NaN", "  "])
def test_an_elevation_that_is_no_number_is_simply_missing(height):
    body = f'<wpt lat="1" lon="2"><ele>{height}</ele></wpt>'
    [place] = read_gpx(gpx(body)).taken
    assert place.height_m is None


@pytest.mark.parametrize(
    "content",
    [
        gpx('<wpt lat="1" lon="2"/>', attributes=""),
        gpx('<wpt lat="1" lon="2"/>', 'version="1.0" xmlns="http://www.topografix.com/GPX/1/0"'),
        b"\xef\xbb\xbf" + gpx('<wpt lat="1" lon="2"/>'),
        gpx('<wpt lat="1" lon="2"/>', encoding="iso-8859-1"),
        gpx('<wpt lat="1" lon="2"/>', encoding="utf-16"),
        gpx('<wpt lat="1" lon="2"><extensions><q:z xmlns:q="urn:q">1</q:z></extensions></wpt>'),
        gpx('<wpt lat="1" lon="2"><!-- note --><course>7</course><speed>1</speed></wpt>'),
    ],
    ids=["bare", "gpx 1.0", "byte order mark", "latin 1", "utf 16", "extensions", "1.0 children"],
)
def test_untidy_but_honest_files_are_read(content):
    [place] = read_gpx(content).taken
    assert place.geometry == Point(2, 1)


def test_times_without_a_zone_are_left_out_and_said_so():
    body = (
        '<wpt lat="1" lon="2"><time>2024-09-01T12:00:00</time></wpt>'
        '<wpt lat="1" lon="2"><time>yesterday</time></wpt>'
        '<wpt lat="1" lon="2"><time>2024-09-01T12:00:00-05:00</time></wpt>'
    )
    result = read_gpx(gpx(body))
    assert [place.properties for place in result.taken] == [
        {},
        {},
        {"time": "2024-09-01T12:00:00-05:00"},
    ]
    assert "has no zone" in result.notes[0]
    assert "is no time" in result.notes[1]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b'<!DOCTYPE gpx><gpx version="1.1"/>', "DOCTYPE"),
        (b'<!DOCTYPE g [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]><gpx>&b;</gpx>', "DOCTYPE"),
        (b'<!DOCTYPE g [<!ENTITY a SYSTEM "file:///etc/hostname">]><gpx>&a;</gpx>', "DOCTYPE"),
        (b"<gpx><wpt></gpx>", "not readable XML"),
        (b"", "not readable XML"),
        (b'<?xml version="1.0" encoding="no-such-thing"?><gpx/>', "not readable XML"),
        (b"<kml/>", "no gpx element"),
        (gpx('<wpt lat="1" lon="2"/>' * 4), "at most 3 are read"),
        (gpx("<metadata>" + "x" * 3_000 + "</metadata>"), "at most 2000 are read"),
    ],
)
def test_a_file_that_cannot_be_trusted_is_refused_whole(content, words):
    with pytest.raises(InvalidGeometry, match=words):
        read_gpx(content, limits=ImportLimits(max_places=3, max_bytes=2_000))


def test_very_deep_nesting_does_no_harm():
    depth = 50_000
    body = "<extensions>" + "<a>" * depth + "</a>" * depth + "</extensions>"
    assert read_gpx(gpx(body + '<wpt lat="1" lon="2"/>')).read == 1


def test_too_many_positions_in_one_track_are_refused():
    body = f"<trk>{track([(index / 1000, 0) for index in range(101)])}</trk>"
    result = read_gpx(gpx(body), limits=ImportLimits(max_vertices=100))
    assert "too many positions" in result.skipped[0].detail


def test_places_outside_the_property_are_skipped():
    result = read_gpx(gpx('<wpt lat="1" lon="2"/>'), within=box(0, 0, 0.01, 0.01))
    assert "swapped" not in result.skipped[0].detail
    assert "km outside" in result.skipped[0].detail


def test_points_and_lines_written_are_read_back():
    stand = ExportedPlace(
        kind="stand", name="Oak & ash <1>", geometry=Point(-91.2, 38.6), height_m=200.0
    )
    trail = ExportedPlace(
        kind="access_route",
        name="Trail",
        geometry=MultiLineString([[(0, 0), (0.001, 0)], [(0.002, 0), (0.003, 0)]]),
    )
    result = read_gpx(write_gpx([stand, trail], creator="test"))
    assert not result.skipped
    read = [(place.kind, place.name, place.geometry, place.height_m) for place in result.taken]
    assert read == [
        ("stand", "Oak & ash <1>", stand.geometry, 200.0),
        ("access_route", "Trail", trail.geometry, None),
    ]


@given(st.text(max_size=40))
def test_any_name_can_be_written_and_read_back(name):
    place = ExportedPlace(kind=None, name=name, geometry=Point(1, 2), properties={"desc": name})
    [read] = read_gpx(write_gpx([place], creator="test")).taken
    assert read.name == (clean_name(name) or "wpt 1")
    assert read.properties.get("desc", "") == clean_name(name)


def test_an_area_is_written_as_the_track_of_its_rings():
    holed = Polygon(box(0, 0, 0.01, 0.01).exterior, [box(0.002, 0.002, 0.004, 0.004).exterior])
    content = write_gpx([ExportedPlace(kind=None, name="Plot", geometry=holed)], creator="test")
    [place] = read_gpx(content).taken
    assert [list(line.coords) for line in place.geometry.geoms] == [
        list(holed.exterior.coords),
        list(holed.interiors[0].coords),
    ]
