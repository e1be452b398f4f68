"""Stands over HTTP: where they may lie, who sees how much, and how they are found."""

from datetime import date

import pytest

from coop.outbox.models import Fact
from properties.land.geodesy import destination
from properties.stands.models import Stand
from tests.cast import make_stand

AT = (-91.49, 43.21)
ROUTE = {"type": "LineString", "coordinates": [[-91.499, 43.201], [-91.4901, 43.2099]]}
BODY = {
    "name": "Oak point",
    "kind": "ladder",
    "geometry": {"type": "Point", "coordinates": list(AT)},
    "seat_height_m": 4.8,
    "arc_from_deg": 300,
    "arc_to_deg": 60,
    "shot_distance_m": 27,
    "approach_route": ROUTE,
    "notes": "Third rung is loose",
}


@pytest.fixture
def stand(cast):
    return make_stand(
        cast.north,
        "Oak point",
        approach_route=ROUTE,
        exit_route={**ROUTE, "coordinates": ROUTE["coordinates"][::-1]},
        notes="Third rung is loose",
        is_open=False,
        closed_reason="Wasps",
        settings={"stands": {"route_end_m": 80}},
    )


def names(client, query=""):
    answer = client.get(f"/api/v1/stands/{query}")
    assert answer.status_code == 200, answer.data
    return [row["name"] for row in answer.data["results"]]


def test_a_manager_adds_a_stand_and_its_place_comes_back_as_it_went_in(cast):
    client = cast.client(cast.manager)
    made = client.post("/api/v1/stands/", {**BODY, "property": cast.north.id})

    assert made.status_code == 201, made.data
    read = client.get(f"/api/v1/stands/{made.data['id']}/")
    assert read.data["geometry"] == BODY["geometry"]
    assert read.data["approach_route"] == ROUTE
    row = Stand.objects.get(id=made.data["id"])
    assert (row.longitude, row.latitude) == AT
    assert Fact.objects.get(ids__stand=made.data["id"]).topic == "property.changed"


@pytest.mark.parametrize(
    ("writer", "status"),
    [
        ("coordinator", 201),
        ("manager", 201),
        ("member", 403),
        ("landowner", 403),
        ("other_member", 400),
        ("stranger", 400),
    ],
)
def test_managers_and_the_coordinator_add_stands(cast, writer, status):
    answer = cast.client(getattr(cast, writer)).post(
        "/api/v1/stands/", {**BODY, "property": cast.north.id}
    )

    assert answer.status_code == status
    assert Stand.objects.exists() is (status == 201)


@pytest.mark.parametrize(
    ("changed", "pointer", "says"),
    [
        (
            {"geometry": {"type": "Point", "coordinates": [-91.48, 43.2202]}},
            "#/geometry",
            "outside the property",
        ),
        ({"geometry": {"type": "Point", "coordinates": [43.21, -91.49]}}, "#/geometry", "swapped"),
        ({"geometry": ROUTE}, "#/geometry", "Point is needed"),
        ({"geometry": {"type": "Point", "coordinates": []}}, "#/geometry", "two numbers"),
        ({"arc_from_deg": 360}, "#/arc_from_deg", "below 360"),
        ({"arc_to_deg": -1}, "#/arc_to_deg", "below 360"),
        ({"arc_to_deg": "nan"}, "#/arc_to_deg", "valid number"),
        ({"slope_aspect_deg": 400}, "#/slope_aspect_deg", "below 360"),
        ({"shot_distance_m": 0}, "#/shot_distance_m", "1"),
        ({"shot_distance_m": "nan"}, "#/shot_distance_m", "valid number"),
        ({"seat_height_m": 31}, "#/seat_height_m", "30"),
        ({"capacity": 0}, "#/capacity", "1"),
        (
            {
                "approach_route": {
                    "type": "LineString",
                    "coordinates": ROUTE["coordinates"][::-1],
                }
            },
            "#/approach_route",
            "other way round",
        ),
        ({"exit_route": ROUTE}, "#/exit_route", "begin at the stand"),
        (
            {
                "approach_route": {
                    "type": "LineString",
                    "coordinates": [[-91.6, 43.3], [-91.49, 43.21]],
                }
            },
            "#/approach_route",
            "outside the property",
        ),
        ({"approach_route": BODY["geometry"]}, "#/approach_route", "LineString is needed"),
        (
            {"settings": {"stands": {"route_end_m": -1}}},
            "#/settings/stands/route_end_m",
            "at least",
        ),
        ({"property": "foreign"}, "#/property", "none that you may see"),
    ],
)
def test_a_stand_that_cannot_be_is_refused_by_field(cast, changed, pointer, says):
    body = {**BODY, "property": cast.north.id, **changed}
    if changed.get("property") == "foreign":
        body["property"] = cast.foreign.id
    answer = cast.client(cast.manager).post("/api/v1/stands/", body)

    assert answer.status_code == 400, answer.data
    (error,) = answer.data["errors"]
    assert error["pointer"] == pointer
    assert says in error["detail"]
    assert not Stand.objects.exists()


def test_a_route_may_begin_on_the_road_outside_the_boundary(cast):
    lon, lat = destination(-91.50, 43.21, 270, 200)
    route = {"type": "LineString", "coordinates": [[float(lon), float(lat)], list(AT)]}
    answer = cast.client(cast.manager).post(
        "/api/v1/stands/", {**BODY, "property": cast.north.id, "approach_route": route}
    )

    assert answer.status_code == 201, answer.data


def test_a_stand_that_moves_must_still_be_reached_by_its_route(cast, stand):
    client = cast.client(cast.manager)
    url = f"/api/v1/stands/{stand.id}/"
    moved = {"geometry": {"type": "Point", "coordinates": [-91.485, 43.205]}}
    alone = client.patch(url, moved, HTTP_IF_MATCH='"1"')
    without = client.patch(
        url, {**moved, "approach_route": None, "exit_route": None}, HTTP_IF_MATCH='"1"'
    )

    assert alone.status_code == 400
    assert {error["pointer"] for error in alone.data["errors"]} == {"#/approach_route"}
    assert without.status_code == 200
    assert without.data["geometry"]["coordinates"] == [-91.485, 43.205]


def test_an_application_sees_a_shared_stand_without_routes_notes_and_reasons(cast, stand):
    make_stand(cast.south, "Not shared")
    client = cast.application_client()
    url = f"/api/v1/stands/{stand.id}/"

    shown = client.get(url)

    assert names(client) == ["Oak point"]
    for hidden in ("approach_route", "exit_route", "notes", "settings"):
        assert shown.data[hidden] is None
    assert (shown.data["is_open"], shown.data["closed_reason"]) == (False, "closed")
    assert b"Wasps" not in shown.content
    seen = cast.client(cast.member).get(url).data
    assert (seen["closed_reason"], seen["notes"]) == ("Wasps", "Third rung is loose")
    assert seen["approach_route"] == ROUTE


def test_a_search_does_not_look_at_what_is_hidden(cast, stand):
    client = cast.application_client()

    assert names(client, "?search=oak") == ["Oak point"]
    assert names(client, "?search=rung") == names(client, "?search=wasps") == []


@pytest.mark.parametrize("reader", ["landowner", "other_member", "stranger"])
def test_who_may_not_see_a_stand_learns_nothing_of_it(cast, stand, reader):
    client = cast.client(getattr(cast, reader))
    url = f"/api/v1/stands/{stand.id}/"

    assert names(client) == []
    assert names(client, f"?property={cast.north.id}") == []
    assert names(client, f"?near={AT[0]},{AT[1]}&within_m=5000") == []
    assert client.get(url).status_code == 404
    assert client.patch(url, {"name": "Mine"}, HTTP_IF_MATCH='"1"').status_code == 404
    assert client.post(f"{url}close/", {"reason": "Mine"}).status_code == 404
    assert client.post(f"{url}retire/").status_code == 404


@pytest.mark.parametrize("caller", ["member", "application"])
def test_who_sees_a_stand_does_not_thereby_change_it(cast, stand, caller):
    client = (
        cast.application_client() if caller == "application" else cast.client(getattr(cast, caller))
    )
    url = f"/api/v1/stands/{stand.id}/"
    report = {"inspected_on": "2025-08-01", "passed": True}

    assert client.patch(url, {"name": "Mine"}, HTTP_IF_MATCH='"1"').status_code == 403
    assert client.post(f"{url}open/", {"reason": "I want to"}).status_code == 403
    assert client.post(f"{url}retire/").status_code == 403
    assert client.post(f"{url}inspections/", report).status_code == 403


def test_distance_is_measured_on_the_ground(cast):
    """Stands at 90 m and 110 m of a place, east and north of it."""
    for bearing, metres in ((90, 90.0), (0, 90.0), (90, 110.0), (0, 110.0)):
        lon, lat = destination(*AT, bearing, metres)
        make_stand(
            cast.north,
            f"{bearing} at {metres:.0f}",
            longitude=float(lon),
            latitude=float(lat),
        )
    client = cast.client(cast.member)

    found = names(client, f"?near={AT[0]},{AT[1]}&within_m=100")

    assert set(found) == {"90 at 90", "0 at 90"}


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("?near=-91.49,43.21", "?within_m"),
        ("?within_m=100", "?near"),
        ("?near=43.21,-91.49&within_m=100", "?near"),
        ("?near=here&within_m=100", "?near"),
        ("?near=nan,nan&within_m=100", "?near"),
        ("?near=-91.49,43.21&within_m=-1", "?within_m"),
        ("?bbox=1,2,3", "?bbox"),
        ("?kind=hammock", "?kind"),
    ],
)
def test_a_filter_that_means_nothing_is_an_error(cast, query, pointer):
    answer = cast.client(cast.member).get(f"/api/v1/stands/{query}")

    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.data["errors"]] == [pointer]


def test_stands_are_filtered_by_kind_box_opening_and_inspection(cast):
    make_stand(cast.north, "Blind", kind="ground_blind", last_inspected_on=None)
    make_stand(cast.north, "Ladder", longitude=-91.497, latitude=43.203)
    make_stand(cast.north, "Shut", is_open=False, last_inspected_on=date(2024, 8, 1))
    client = cast.client(cast.member)

    assert names(client, "?kind=ground_blind") == ["Blind"]
    assert names(client, "?open=false") == ["Shut"]
    assert names(client, "?bbox=-91.498,43.202,-91.496,43.204") == ["Ladder"]
    assert names(client, "?inspected_before=2025-01-01") == ["Blind", "Shut"]


def test_the_list_costs_as_many_queries_for_many_as_for_few(cast, django_assert_max_num_queries):
    for number in range(20):
        make_stand(cast.north, f"Stand {number}")
    client = cast.client(cast.member)

    with django_assert_max_num_queries(9):
        assert len(names(client)) == 20


def test_a_retired_stand_is_kept_and_told_as_closed(cast):
    stand = make_stand(cast.north, "Oak point")
    client = cast.client(cast.manager)
    retired = client.post(f"/api/v1/stands/{stand.id}/retire/")

    assert retired.data["retired_at"] is not None
    assert Fact.objects.filter(topic="stand.closed").count() == 1
    assert names(client, "?retired=false") == []
    assert names(client, "?retired=true") == ["Oak point"]


@pytest.mark.parametrize("kind", ["ladder", "hang_on", "tower", "ground_blind"])
def test_a_stand_off_the_ground_says_how_high_its_seat_is(cast, kind):
    body = {**BODY, "property": cast.north.id, "kind": kind}
    del body["seat_height_m"]
    answer = cast.client(cast.manager).post("/api/v1/stands/", body)

    if kind == "ground_blind":
        assert (answer.status_code, answer.data["seat_height_m"]) == (201, 0)
    else:
        assert answer.status_code == 400
        assert [error["pointer"] for error in answer.data["errors"]] == ["#/seat_height_m"]
        assert not Stand.objects.exists()


def test_a_blind_that_becomes_a_ladder_says_how_high_its_seat_is(cast):
    stand = make_stand(cast.north, "Blind", kind="ground_blind", seat_height_m=0)
    path, client = f"/api/v1/stands/{stand.id}/", cast.client(cast.manager)
    bare = client.patch(path, {"kind": "ladder"}, HTTP_IF_MATCH="*")
    whole = client.patch(path, {"kind": "ladder", "seat_height_m": 4.8}, HTTP_IF_MATCH="*")
    back = client.patch(path, {"kind": "tower"}, HTTP_IF_MATCH="*")

    assert [error["pointer"] for error in bare.data["errors"]] == ["#/seat_height_m"]
    assert (whole.status_code, back.status_code) == (200, 200)


def test_the_name_of_a_retired_stand_is_free_again(cast):
    stand = make_stand(cast.north, "Oak point")
    client = cast.client(cast.manager)
    body = {**BODY, "property": cast.north.id}
    taken = client.post("/api/v1/stands/", body)
    client.post(f"/api/v1/stands/{stand.id}/retire/")

    assert taken.status_code == 400
    assert client.post("/api/v1/stands/", body).status_code == 201
