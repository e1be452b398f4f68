"""Feature collections in and out: every feature is accounted for."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, box

from properties.land.exchange import ExportedPlace, PlaceKind, Reconciliation, clean_name
from properties.land.geojson import feature_collection, read_geojson
from properties.land.geometry import InvalidGeometry
from properties.land.limits import ImportLimits


def feature(geometry, **properties):
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def collection(*features, **members):
    document = {"type": "FeatureCollection", "features": list(features)} | members
    return json.dumps(document).encode()


def point(lon=0.01, lat=0.01):
    return {"type": "Point", "coordinates": [lon, lat]}


def test_good_features_are_taken_and_bad_ones_are_named_with_the_reason():
    bow_tie = [[0, 0], [1, 1], [1, 0], [0, 1], [0, 0]]
    result = read_geojson(
        collection(
            feature(point(), kind="stand", name="Oak ladder", tag="7"),
            feature({"type": "Polygon", "coordinates": [bow_tie]}, kind="bedding", name="Thicket"),
            feature(None, kind="water"),
            feature(point(), kind="parking", name="Gate"),
            feature(point(), kind="access_route", name="Trail"),
        )
    )
    assert result.sentence == "5 read, 1 taken, 4 skipped"
    [stand] = result.taken
    assert (stand.index, stand.kind, stand.name) == (0, PlaceKind.STAND, "Oak ladder")
    assert stand.properties == {"tag": "7"}
    assert [(skip.index, skip.name) for skip in result.skipped] == [
        (1, "Thicket"),
        (2, "Feature 3"),
        (3, "Gate"),
        (4, "Trail"),
    ]
    crossing, empty, unknown, misshapen = result.skipped
    assert crossing.pointer == "/features/1/geometry/coordinates"
    assert "crosses itself at latitude 0.5" in crossing.detail
    assert empty.pointer == "/features/2/geometry"
    assert unknown.pointer == "/features/3/properties/kind"
    assert "LineString or MultiLineString" in misshapen.detail


def test_features_outside_the_property_are_skipped_but_a_new_boundary_is_not():
    area = box(0, 0, 0.02, 0.02)
    ring = [[0, 0], [0.04, 0], [0.04, 0.02], [0, 0]]
    result = read_geojson(
        collection(
            feature(point(0.03, 0.01), kind="stand", name="Far"),
            feature({"type": "Polygon", "coordinates": [ring]}, kind="boundary", name="Lease"),
        ),
        within=area,
    )
    assert [place.name for place in result.taken] == ["Lease"]
    assert "outside the property's boundary" in result.skipped[0].detail


def test_a_kind_left_open_is_left_to_a_person_or_to_the_default():
    content = collection(feature(point()))
    assert read_geojson(content).taken[0].kind is None
    assert read_geojson(content, default_kind=PlaceKind.WATER).taken[0].kind == "water"


@pytest.mark.parametrize("document", [feature(point(), name="One"), point()])
def test_a_single_feature_or_geometry_is_read_as_a_file_of_one(document):
    assert read_geojson(document).read == 1
    assert read_geojson(json.dumps(document).encode()).taken[0].geometry == Point(0.01, 0.01)


def test_an_empty_collection_is_no_error():
    assert read_geojson(collection()).sentence == "0 read, 0 taken, 0 skipped"


def test_a_byte_order_mark_is_passed_over():
    assert read_geojson(b"\xef\xbb\xbf" + collection(feature(point()))).read == 1


@pytest.mark.parametrize(
    ("broken", "pointer", "words"),
    [
        ("text", "/features/0", "must be a Feature"),
        ({"type": "Feature", "coordinates": [0, 0]}, "/features/0", "coordinates of its own"),
        (
            {"type": "Feature", "geometry": point(), "properties": [1]},
            "/features/0/properties",
            "object or null",
        ),
        (
            {"type": "Feature", "geometry": point(), "properties": {"kind": [1]}},
            "/features/0/properties/kind",
            "one of",
        ),
    ],
)
def test_what_is_no_feature_is_skipped_by_itself(broken, pointer, words):
    result = read_geojson(collection(broken, feature(point())))
    assert len(result.taken) == 1
    assert result.skipped[0].pointer == pointer
    assert words in result.skipped[0].detail


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"{", "not JSON"),
        (b"[]", "one GeoJSON object"),
        (b'{"type": "FeatureCollection"}', "array of features"),
        (b'{"type": "Topology"}', "must be FeatureCollection"),
        (b'{"type": "Point", "coordinates": [NaN, 0]}', "not JSON"),
        (b"[" * 100_000, "not JSON"),
        (collection(crs={"type": "name", "properties": {"name": "EPSG:3857"}}), "EPSG:3857"),
    ],
)
def test_a_file_that_cannot_be_trusted_is_refused_whole(content, words):
    with pytest.raises(InvalidGeometry, match=words):
        read_geojson(content)


def test_large_files_and_long_lists_are_refused():
    content = collection(feature(point()), feature(point()))
    with pytest.raises(InvalidGeometry, match="at most 1 are read"):
        read_geojson(content, limits=ImportLimits(max_places=1))
    with pytest.raises(InvalidGeometry, match="at most 50 are read"):
        read_geojson(content, limits=ImportLimits(max_bytes=50))


def test_names_are_one_visible_line():
    assert clean_name(" North\n\x00 plot\u2028 ") == "North plot"
    assert clean_name("Oak\u202e\ud800\uffff") == "Oak"
    assert clean_name("x" * 500) == "x" * 200
    assert clean_name({"a": 1}) == ""
    assert clean_name(7) == "7"


def test_a_reconciliation_that_does_not_add_up_cannot_be_made():
    with pytest.raises(ValueError, match="3 read"):
        Reconciliation(read=3, taken=(), skipped=())


lons = st.floats(-179, 179).map(lambda value: round(value, 6))
lats = st.floats(-89, 89).map(lambda value: round(value, 6))
geometries = st.one_of(
    st.tuples(st.just("stand"), st.builds(Point, lons, lats)),
    st.tuples(
        st.just("access_route"),
        st.builds(lambda lon, lat: LineString([(lon, lat), (lon + 0.001, lat)]), lons, lats),
    ),
    st.tuples(
        st.just("sanctuary"),
        st.builds(lambda lon, lat: box(lon, lat, lon + 0.01, lat + 0.01), lons, lats),
    ),
)
properties = st.dictionaries(
    st.text(min_size=1).filter(lambda key: key.lower() not in ("kind", "name")),
    st.one_of(st.none(), st.booleans(), st.integers(-1000, 1000), st.text()),
    max_size=3,
)
places = st.builds(
    lambda pair, name, extra, height: ExportedPlace(
        kind=pair[0],
        geometry=pair[1],
        name=clean_name(name) or "Place",
        properties=extra,
        height_m=height if pair[1].geom_type == "Point" else None,
    ),
    geometries,
    st.text(max_size=30),
    properties,
    st.one_of(st.none(), st.floats(-100, 3000)),
)


@settings(max_examples=60)
@given(st.lists(places, max_size=5))
def test_what_goes_out_comes_in_and_goes_out_the_same(exported):
    document = json.loads(json.dumps(feature_collection(exported)))
    result = read_geojson(document)
    assert not result.skipped
    again = feature_collection(
        ExportedPlace(
            identifier=place.identifier,
            kind=place.kind,
            name=place.name,
            geometry=place.geometry,
            height_m=place.height_m,
            properties=place.properties,
        )
        for place in result.taken
    )
    assert again == document


def test_ids_are_written_and_read():
    exported = ExportedPlace(identifier="a1", kind="stand", name="Oak", geometry=Point(1, 2))
    document = feature_collection([exported])
    assert document["features"][0]["id"] == "a1"
    assert read_geojson(document).taken[0].identifier == "a1"
