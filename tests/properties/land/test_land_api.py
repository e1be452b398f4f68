"""Land over HTTP: who sees it, who changes it, and what bad geometry is told."""

import pytest
import time_machine

from coop.audit.models import AuditEvent
from coop.outbox.models import Fact
from properties.land.models import Closure, Feature
from tests.cast import NOW, square

BEDDING = square(-91.495, 43.205, 0.002)


def test_a_member_sees_their_property_and_not_the_other_one(cast):
    answer = cast.client(cast.member).get("/api/v1/properties/")

    assert [row["name"] for row in answer.data["results"]] == ["North"]
    assert cast.client(cast.member).get(f"/api/v1/properties/{cast.south.id}/").status_code == 404


def test_an_unknown_caller_is_told_to_sign_in(cast, client):
    answer = client.get("/api/v1/properties/")

    assert answer.status_code == 401
    assert answer["Content-Type"] == "application/problem+json"
    assert answer.json()["code"] == "not_signed_in"


def test_a_manager_maps_bedding_and_the_record_and_the_fact_are_written(cast):
    answer = cast.client(cast.manager).post(
        "/api/v1/features/",
        {"property": cast.north.id, "kind": "bedding", "name": "Cedar bench", "geometry": BEDDING},
        format="json",
    )

    assert answer.status_code == 201, answer.data
    assert answer["ETag"] == '"1"'
    event = AuditEvent.objects.get(object_id=answer.data["id"])
    assert event.actor_name == "Max Manager"
    assert Fact.objects.filter(topic="property.changed", ids__property=str(cast.north.id)).exists()


def test_a_member_may_look_at_the_map_and_not_change_it(cast):
    answer = cast.client(cast.member).post(
        "/api/v1/features/",
        {"property": cast.north.id, "kind": "bedding", "name": "Mine", "geometry": BEDDING},
        format="json",
    )

    assert answer.status_code == 403
    assert not Feature.objects.exists()


def test_mapping_on_a_property_one_may_not_see_says_no_more_than_an_unknown_id(cast):
    body = {"kind": "bedding", "name": "Probe", "geometry": BEDDING}
    client = cast.client(cast.manager)
    hidden = client.post("/api/v1/features/", {**body, "property": cast.foreign.id}, format="json")
    unknown = client.post(
        "/api/v1/features/",
        {**body, "property": "0193a1c2-0000-7000-8000-000000000001"},
        format="json",
    )

    assert hidden.status_code == unknown.status_code == 400
    assert hidden.data == unknown.data


@pytest.mark.parametrize(
    ("geometry", "says"),
    [
        (square(-80.0, 43.205, 0.002), "outside the property"),
        (
            {
                "type": "Polygon",
                "coordinates": [
                    [
                        [-91.495, 43.205],
                        [-91.493, 43.207],
                        [-91.493, 43.205],
                        [-91.495, 43.207],
                        [-91.495, 43.205],
                    ]
                ],
            },
            "crosses itself",
        ),
        ({"type": "Point", "coordinates": [43.205, -91.495]}, "latitude"),
        ({"type": "Polygon", "coordinates": []}, "empty"),
    ],
)
def test_bad_geometry_is_refused_with_the_feature_and_the_reason(cast, geometry, says):
    answer = cast.client(cast.manager).post(
        "/api/v1/features/",
        {"property": cast.north.id, "kind": "bedding", "name": "Cedar bench", "geometry": geometry},
        format="json",
    )

    assert answer.status_code == 400
    (error,) = answer.data["errors"]
    assert error["pointer"] == "#/geometry"
    assert "Cedar bench" in error["detail"]
    assert says in error["detail"]
    assert not Feature.objects.exists()


def test_an_edit_needs_the_etag_that_was_read(cast):
    client = cast.client(cast.manager)
    url = f"/api/v1/properties/{cast.north.id}/"
    etag = client.get(url)["ETag"]

    without = client.patch(url, {"access_notes": "Use the east gate"}, format="json")
    first = client.patch(url, {"access_notes": "East gate"}, format="json", HTTP_IF_MATCH=etag)
    late = client.patch(url, {"access_notes": "West gate"}, format="json", HTTP_IF_MATCH=etag)

    assert (without.status_code, first.status_code, late.status_code) == (428, 200, 412)
    cast.north.refresh_from_db()
    assert cast.north.access_notes == "East gate"


def test_the_same_idempotency_key_maps_one_feature_and_answers_twice(cast):
    client = cast.client(cast.manager)
    body = {"property": cast.north.id, "kind": "bedding", "name": "Bench", "geometry": BEDDING}
    first = client.post("/api/v1/features/", body, format="json", HTTP_IDEMPOTENCY_KEY="k1")
    again = client.post("/api/v1/features/", body, format="json", HTTP_IDEMPOTENCY_KEY="k1")
    other = client.post(
        "/api/v1/features/", {**body, "name": "Other"}, format="json", HTTP_IDEMPOTENCY_KEY="k1"
    )

    assert first.status_code == again.status_code == 201
    assert first.content == again.content
    assert again["Idempotent-Replay"] == "true"
    assert other.status_code == 422
    assert Feature.objects.count() == 1


@time_machine.travel(NOW, tick=False)
def test_a_landowner_closes_their_ground_and_the_fact_is_told(cast):
    answer = cast.client(cast.landowner).post(
        "/api/v1/closures/",
        {
            "property": cast.north.id,
            "first_on": "2025-11-20",
            "last_on": "2025-11-21",
            "reason": "Logging",
        },
        format="json",
    )

    assert answer.status_code == 201
    assert Closure.objects.get().reason == "Logging"
    assert Fact.objects.filter(topic="property.closed").count() == 1


def test_a_setting_out_of_bounds_is_named(cast):
    client = cast.client(cast.manager)
    url = f"/api/v1/properties/{cast.north.id}/"
    answer = client.patch(
        url,
        {"settings": {"wind": {"alert_distance_m": -5}}},
        format="json",
        HTTP_IF_MATCH=client.get(url)["ETag"],
    )

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/settings/wind/alert_distance_m"


def test_the_way_in_and_the_settings_are_not_told_to_outfitters_or_landowners(cast):
    cast.north.access_notes = "Key under the third post"
    cast.north.settings = {"wind": {"alert_distance_m": 100}}
    cast.north.save()
    url = f"/api/v1/properties/{cast.north.id}/"

    for client in (cast.application_client(), cast.client(cast.landowner)):
        assert (client.get(url).data["access_notes"], client.get(url).data["settings"]) == ("", {})
    assert cast.client(cast.member).get(url).data["access_notes"] == "Key under the third post"


def test_an_unknown_query_parameter_is_an_error_not_silence(cast):
    answer = cast.client(cast.member).get("/api/v1/properties/?colour=red")

    assert answer.status_code == 400
    assert "colour" in answer.data["detail"]


def test_a_closure_that_ends_before_it_begins_is_refused_at_its_last_day(cast):
    closure = {
        "property": str(cast.north.id),
        "first_on": "2025-11-20",
        "last_on": "2025-11-19",
        "reason": "A burn",
    }

    answer = cast.client(cast.manager).post("/api/v1/closures/", closure)

    assert answer.status_code == 400
    told = [(error["pointer"], error["detail"]) for error in answer.data["errors"]]
    assert told == [("#/last_on", "Lies before the first day.")]


def test_a_new_property_is_answered_as_it_is_read_by_whoever_added_it(cast):
    client = cast.client(cast.coordinator)
    body = {
        "cooperative": str(cast.cooperative.id),
        "name": "East forty",
        "time_zone": "America/Chicago",
        "boundary": square(-91.3, 43.3),
        "access_notes": "By the church road.",
        "settings": {"house_rules": {"rest_days": 4}},
    }

    made = client.post("/api/v1/properties/", body)

    assert made.status_code == 201
    assert made.data["access_notes"] == "By the church road."
    assert made.data == client.get(made["Location"]).data
