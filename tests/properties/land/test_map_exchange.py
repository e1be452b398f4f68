"""Maps in and out: every place accounted for, all or nothing, twice the same adds nothing."""

import json
from io import StringIO

import gpxpy
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command

from coop.outbox.models import Fact
from properties.land.models import Feature
from properties.stands.models import Stand
from tests.cast import make_stand, square

BEDDING = {
    "type": "Feature",
    "geometry": square(-91.495, 43.205, 0.002),
    "properties": {"kind": "bedding", "name": "Cedar bench", "desc": "Does bed here"},
}
STAND = {
    "type": "Feature",
    "geometry": {"type": "Point", "coordinates": [-91.49, 43.21]},
    "properties": {
        "kind": "stand",
        "name": "Oak point",
        "stand_kind": "ground_blind",
        "seat_height_m": 0,
        "shot_distance_m": 25,
    },
}
OUTSIDE = {
    "type": "Feature",
    "geometry": {"type": "Point", "coordinates": [-91.40, 43.21]},
    "properties": {"kind": "water", "name": "Far pond"},
}
GPX = b"""<?xml version="1.0"?>
<gpx version="1.1" creator="a handheld" xmlns="http://www.topografix.com/GPX/1/1">
  <wpt lat="43.210" lon="-91.490"><name>Oak point</name><type>stand</type></wpt>
  <wpt lat="43.211" lon="-91.491"><name>Old apple</name></wpt>
  <trk><name>East lane</name><type>access_route</type><trkseg>
    <trkpt lat="43.205" lon="-91.495"/><trkpt lat="43.206" lon="-91.494"/>
  </trkseg></trk>
</gpx>"""


def collection(*features):
    return json.dumps({"type": "FeatureCollection", "features": features}).encode()


def send(client, land, content, **fields):
    file = SimpleUploadedFile("map.json", content)
    return client.post(
        f"/api/v1/properties/{land.id}/import/", {"file": file, **fields}, format="multipart"
    )


def test_a_good_file_is_taken_whole(cast):
    answer = send(cast.client(cast.manager), cast.north, collection(BEDDING, STAND))

    assert answer.status_code == 201, answer.data
    assert (answer.data["read"], answer.data["taken"], answer.data["skipped"]) == (2, 2, [])
    assert Feature.objects.get().notes == "Does bed here"
    stand = Stand.objects.get()
    assert (stand.kind, stand.shot_distance_m, stand.is_open) == ("ground_blind", 25, True)


def test_the_same_file_again_adds_nothing(cast):
    client = cast.client(cast.manager)
    send(client, cast.north, collection(BEDDING, STAND))
    facts = Fact.objects.count()
    again = send(client, cast.north, collection(BEDDING, STAND))

    assert again.status_code == 201
    assert (again.data["read"], again.data["taken"]) == (2, 0)
    assert [row["name"] for row in again.data["skipped"]] == ["Cedar bench", "Oak point"]
    assert "of this name is mapped" in again.data["skipped"][0]["reason"]
    assert (Feature.objects.count(), Stand.objects.count(), Fact.objects.count()) == (1, 1, facts)


def test_one_bad_place_holds_back_the_file_and_is_named(cast):
    answer = send(cast.client(cast.manager), cast.north, collection(BEDDING, OUTSIDE, STAND))

    assert answer.status_code == 400
    (error,) = answer.data["errors"]
    assert error["pointer"] == "/features/1/geometry"
    assert "Far pond" in error["detail"]
    assert "outside the property" in error["detail"]
    assert (answer.data["read"], answer.data["taken"]) == (3, 0)
    assert not Feature.objects.exists()
    assert not Stand.objects.exists()
    assert not Fact.objects.filter(ids__has_key="stand").exists()


def test_a_part_is_taken_when_asked_for(cast):
    client = cast.client(cast.manager)
    answer = send(client, cast.north, collection(BEDDING, OUTSIDE, STAND), partial=True)

    assert answer.status_code == 201
    assert (answer.data["read"], answer.data["taken"]) == (3, 2)
    assert [row["name"] for row in answer.data["skipped"]] == ["Far pond"]
    assert (Feature.objects.count(), Stand.objects.count()) == (1, 1)


def test_a_dry_run_judges_the_same_and_writes_nothing(cast):
    client = cast.client(cast.manager)
    dry = send(client, cast.north, collection(BEDDING, OUTSIDE, STAND), dry_run=True)

    assert dry.status_code == 200
    assert dry.data["written"] is False
    assert (dry.data["read"], dry.data["taken"]) == (3, 2)
    assert not Feature.objects.exists()
    assert not Stand.objects.exists()


def test_a_handhelds_file_needs_a_kind_for_waypoints_that_state_none(cast):
    client = cast.client(cast.manager)
    without = send(client, cast.north, GPX)
    with_kind = send(client, cast.north, GPX, kind="water")

    assert without.status_code == 400
    assert [error["pointer"] for error in without.data["errors"]] == ["/wpt[2]"]
    assert "states no kind" in without.data["errors"][0]["detail"]
    assert with_kind.status_code == 201, with_kind.data
    assert set(Feature.objects.values_list("name", "kind")) == {
        ("Old apple", "water"),
        ("East lane", "access_route"),
    }


def test_a_kind_given_for_all_does_not_fit_every_shape(cast):
    answer = send(cast.client(cast.manager), cast.north, GPX, kind="sanctuary")

    assert answer.status_code == 400
    assert "needs MultiPolygon or Polygon" in answer.data["errors"][0]["detail"]


def test_a_stand_known_only_by_its_place_is_closed_until_somebody_enters_the_rest(cast):
    answer = send(cast.client(cast.manager), cast.north, GPX, kind="water")

    stand = Stand.objects.get()
    assert stand.is_open is False
    assert "kind, seat height, shot distance" in stand.closed_reason
    assert any("Oak point" in note for note in answer.data["notes"])


def test_two_places_of_one_name_in_a_file_are_not_quietly_one(cast):
    twin = {**BEDDING, "geometry": square(-91.490, 43.205, 0.002)}
    answer = send(cast.client(cast.manager), cast.north, collection(BEDDING, twin))

    assert answer.status_code == 400
    assert "same name" in answer.data["errors"][0]["detail"]


def test_what_a_file_says_of_a_stand_is_checked_as_if_typed_in(cast):
    odd = {**STAND, "properties": {**STAND["properties"], "arc_from_deg": 400}}
    worse = {**STAND, "properties": {**STAND["properties"], "name": "B", "capacity": {"a": 1}}}
    answer = send(cast.client(cast.manager), cast.north, collection(odd, worse))

    assert answer.status_code == 400
    assert [error["detail"].split(":")[1].strip() for error in answer.data["errors"]] == [
        "arc_from_deg",
        "capacity",
    ]
    assert not Stand.objects.exists()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"not a map", "not JSON"),
        (b"", "empty"),
        (b"<kml></kml>", "no gpx element"),
        (b'<!DOCTYPE x [<!ENTITY a "b">]><gpx/>', "DOCTYPE"),
        (b'{"type": "Topology"}', "FeatureCollection"),
    ],
)
def test_a_file_that_is_no_map_is_refused_whole(cast, content, says):
    answer = send(cast.client(cast.manager), cast.north, content)

    assert answer.status_code == 400
    assert says in answer.data["detail"]


@pytest.mark.parametrize(
    ("caller", "status"),
    [
        ("coordinator", 201),
        ("member", 403),
        ("landowner", 403),
        ("other_member", 404),
        ("stranger", 404),
    ],
)
def test_managers_and_the_coordinator_import(cast, caller, status):
    answer = send(cast.client(getattr(cast, caller)), cast.north, collection(BEDDING))

    assert answer.status_code == status
    assert Feature.objects.exists() is (status == 201)


def test_an_application_neither_imports_nor_exports(cast):
    client = cast.application_client()

    assert send(client, cast.north, collection(BEDDING)).status_code == 403
    assert client.get(f"/api/v1/properties/{cast.north.id}/export/").status_code == 403


@pytest.mark.parametrize(
    ("caller", "status"),
    [
        ("coordinator", 200),
        ("manager", 200),
        ("member", 200),
        ("landowner", 403),
        ("other_member", 404),
        ("stranger", 404),
    ],
)
def test_whoever_sees_the_map_takes_it_along(cast, caller, status):
    make_stand(cast.north, "Oak point")
    url = f"/api/v1/properties/{cast.north.id}/export/"

    answer = cast.client(getattr(cast, caller)).get(url)

    assert answer.status_code == status
    assert (b"Oak point" in answer.content) is (status == 200)


def test_an_export_read_on_another_property_gives_the_same_map(cast):
    """Moved south by a tenth of a degree, as the two properties of the cast lie."""
    client = cast.client(cast.coordinator)
    route = {"type": "LineString", "coordinates": [[-91.4985, 43.2015], [-91.4901, 43.2099]]}
    make_stand(
        cast.north,
        "Oak point",
        kind="tower",
        arc_from_deg=310,
        slope_aspect_deg=90,
        capacity=2,
        notes="Gate code at the office",
        approach_route=route,
    )
    send(client, cast.north, collection(BEDDING))
    answer = client.get(f"/api/v1/properties/{cast.north.id}/export/")
    assert answer["Content-Type"] == "application/geo+json"
    assert 'filename="north.geojson"' in answer["Content-Disposition"]

    moved = answer.content.replace(b"43.2", b"43.1")
    taken = send(client, cast.south, moved)

    assert taken.status_code == 201, taken.data
    stand = Stand.objects.get(property=cast.south)
    assert (stand.kind, stand.arc_from_deg, stand.slope_aspect_deg) == ("tower", 310, 90)
    assert (stand.capacity, stand.notes, stand.is_open) == (2, "Gate code at the office", True)
    assert stand.approach_route["coordinates"][0] == [-91.4985, 43.1015]
    assert Feature.objects.get(property=cast.south).kind == "bedding"


def test_an_export_for_handhelds_is_gpx(cast):
    make_stand(cast.north, "Oak point", longitude=-91.49, latitude=43.21)
    url = f"/api/v1/properties/{cast.north.id}/export/"
    answer = cast.client(cast.member).get(f"{url}?as=gpx", HTTP_ACCEPT="application/gpx+xml")

    assert answer["Content-Type"] == "application/gpx+xml"
    (waypoint,) = gpxpy.parse(answer.content.decode()).waypoints
    assert (waypoint.name, waypoint.type) == ("Oak point", "stand")
    assert (waypoint.longitude, waypoint.latitude) == (-91.49, 43.21)
    assert cast.client(cast.member).get(f"{url}?as=kml").status_code == 400


def test_the_commands_end_with_a_reconciliation(cast, tmp_path):
    source, target = tmp_path / "in.geojson", tmp_path / "out.gpx"
    source.write_bytes(collection(BEDDING, OUTSIDE, STAND))
    refused, taken, exported = StringIO(), StringIO(), StringIO()

    with pytest.raises(CommandError, match="nothing was written: 1 places"):
        call_command("importmap", str(source), "--property", "north", stdout=refused)
    assert not Feature.objects.exists()
    call_command("importmap", str(source), "--property", "North", "--partial", stdout=taken)
    call_command(
        "exportmap",
        "--property",
        str(cast.north.id),
        "--as",
        "gpx",
        "--output",
        str(target),
        stdout=exported,
    )

    assert "/features/1/geometry “Far pond”" in refused.getvalue()
    assert refused.getvalue().splitlines()[-1].endswith("1 skipped (nothing written)")
    assert taken.getvalue().splitlines()[-1] == "3 read, 2 taken, 1 skipped"
    assert exported.getvalue().splitlines()[-1].startswith("2 places of North written")
    assert b"Cedar bench" in target.read_bytes()


def test_a_part_of_which_nothing_is_left_is_refused_with_the_reasons(cast, tmp_path):
    client, source = cast.client(cast.manager), tmp_path / "in.geojson"
    source.write_bytes(collection(OUTSIDE))
    answer = send(client, cast.north, collection(OUTSIDE), partial=True)

    assert answer.status_code == 400
    assert answer.data["detail"] == "Nothing was taken: 1 of 1 places cannot be; correct them."
    assert [error["pointer"] for error in answer.data["errors"]] == ["/features/0/geometry"]
    with pytest.raises(CommandError, match=r"(?s)1 places .* correct them\n/features/0.*outside"):
        call_command("importmap", str(source), "--property", "North", "--partial")


def test_a_part_of_what_is_mapped_already_is_read_again(cast):
    client = cast.client(cast.manager)
    send(client, cast.north, collection(BEDDING, OUTSIDE), partial=True)
    again = send(client, cast.north, collection(BEDDING, OUTSIDE), partial=True)

    assert (again.status_code, again.data["taken"]) == (201, 0)


@pytest.mark.parametrize("content", [collection(), b'<gpx version="1.1"></gpx>'])
def test_a_map_of_nothing_leaves_nothing_out(cast, content):
    answer = send(cast.client(cast.manager), cast.north, content)

    assert (answer.status_code, answer.data["read"], answer.data["skipped"]) == (201, 0, [])


def test_a_command_for_an_unknown_property_names_those_there_are(cast, tmp_path):
    with pytest.raises(CommandError, match="known: Foreign, North, South"):
        call_command("exportmap", "--property", "East", "--output", str(tmp_path / "x"))
