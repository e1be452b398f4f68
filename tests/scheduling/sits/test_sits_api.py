"""Sits over HTTP: who sees whom, who may do what, and how refusals look."""

import pytest

from properties.people.models import Paper, Person, RoleGrant
from scheduling.sits.models import Client, Sit
from tests.cast import NOW
from tests.scheduling.sits.stage import DAY, booked, make_guest

pytestmark = pytest.mark.usefixtures("at_now")

SITS = "/api/v1/sits/"
CLIENT = {
    "reference": "C-17",
    "name": "Cleo Client",
    "emergency_contact_name": "Kin of Cleo",
    "emergency_contact_phone": "555-0177",
    "papers": [{"kind": "licence", "expires_on": "2026-06-30"}, {"kind": "waiver"}],
}


def body(stand, **more):
    return {"stand": str(stand.id), "local_date": DAY.isoformat(), "span": "evening", **more}


def test_a_member_books_reads_and_cancels(stage):
    client = stage.cast.client(stage.cast.member)

    made = client.post(SITS, body(stage.oak, weapon="bow"))

    assert made.status_code == 201, made.data
    assert made.data["starts_at"].utcoffset().total_seconds() == -6 * 3600
    assert made["ETag"] == '"1"'
    assert client.get(made["Location"]).data["state"] == "booked"
    cancelled = client.post(made["Location"] + "cancel/", {"reason": "Ill"})
    assert (cancelled.status_code, cancelled.data["state"]) == (200, "cancelled")


def test_a_refusal_is_a_409_that_lists_code_sentence_and_facts(stage):
    Paper.objects.filter(person=stage.cast.member, kind="waiver").delete()
    stage.oak.is_open, stage.oak.closed_reason = False, "Loose ladder"
    stage.oak.save()

    answer = stage.cast.client(stage.cast.member).post(SITS, body(stage.oak))

    assert answer.status_code == 409
    assert answer["Content-Type"] == "application/problem+json"
    found = answer.json()["refusals"]
    assert [refusal["code"] for refusal in found] == ["paper_missing", "stand_closed"]
    assert found[0]["facts"]["paper"] == "waiver"
    assert "Loose ladder" in found[1]["sentence"]


def test_the_same_key_books_one_sit_and_answers_twice(stage):
    client = stage.cast.client(stage.cast.member)

    first = client.post(SITS, body(stage.oak), HTTP_IDEMPOTENCY_KEY="k1")
    again = client.post(SITS, body(stage.oak), HTTP_IDEMPOTENCY_KEY="k1")

    assert first.status_code == again.status_code == 201
    assert first.content == again.content
    assert Sit.objects.count() == 1


def test_a_stand_of_another_property_and_one_that_is_not_there_answer_alike(stage):
    client = stage.cast.client(stage.cast.member)
    unknown = body(stage.far) | {"stand": "0193a1c2-0000-7000-8000-000000000001"}

    hidden, missing = client.post(SITS, body(stage.far)), client.post(SITS, unknown)

    assert hidden.status_code == missing.status_code == 400
    assert hidden.json() == missing.json()


def test_a_member_sees_their_own_sits_and_not_those_of_others(stage):
    own = booked(stage)
    other = booked(stage, stage.ben, stand=stage.creek)
    client = stage.cast.client(stage.cast.member)

    assert [row["id"] for row in client.get(SITS).json()["results"]] == [str(own.id)]
    assert client.get(f"{SITS}{other.id}/").status_code == 404
    assert client.post(f"{SITS}{other.id}/cancel/", {}).status_code == 404


def test_a_manager_sees_all_sits_of_their_property_and_none_of_the_next(stage):
    booked(stage)
    there = booked(stage, stage.cast.other_member, stand=stage.far)
    client = stage.cast.client(stage.cast.manager)

    assert [row["stand_name"] for row in client.get(SITS).data["results"]] == ["Oak"]
    assert client.get(f"{SITS}{there.id}/").status_code == 404


def roster(stage, person, land=None):
    land = land or stage.cast.north
    return stage.cast.client(person).get(f"/api/v1/roster/?property={land.id}&date={DAY}")


def test_members_read_first_names_and_landowners_full_names_and_nobody_a_number(stage):
    booked(stage, guests=[make_guest(stage.cast.member)])
    booked(stage, stage.ben, stand=stage.creek)

    by_member = roster(stage, stage.ben)
    by_landowner = roster(stage, stage.cast.landowner)

    assert [row["name"] for row in by_member.data] == ["Ben Second", "Mia", "Gus"]
    guest = by_landowner.data[2]
    assert (guest["name"], guest["standing"], guest["through"]) == (
        "Gus Guest",
        "guest",
        "Mia Member",
    )
    for answer in (by_member, by_landowner):
        for private in ("555-0100", "555-0199", "555-0198", "@example.org"):
            assert private.encode() not in answer.content


def test_a_member_of_one_property_learns_nothing_of_the_other(stage):
    booked(stage)

    answer = roster(stage, stage.cast.other_member)
    unknown = stage.cast.client(stage.cast.other_member).get(
        f"/api/v1/roster/?property=0193a1c2-0000-7000-8000-000000000001&date={DAY}"
    )

    assert answer.status_code == unknown.status_code == 400
    assert answer.json() == unknown.json()


def test_a_landowner_books_nothing_and_reads_no_sit(stage):
    sit = booked(stage)
    client = stage.cast.client(stage.cast.landowner)

    assert client.get(SITS).data["results"] == []
    assert client.get(f"{SITS}{sit.id}/").status_code == 404
    assert client.post(SITS, body(stage.oak)).status_code == 400


def test_an_outfitter_books_for_a_named_client_and_sees_only_its_own_sits(stage):
    booked(stage, stand=stage.creek)
    client = stage.cast.application_client()

    made = client.post(SITS, body(stage.oak, client=CLIENT))

    assert made.status_code == 201, made.data
    person = Person.objects.get(id=made.data["person"])
    assert (person.name, person.emergency_contact_phone) == ("Cleo Client", "555-0177")
    assert person.host is None
    assert str(made.data["outfitter"]) == str(stage.cast.outfitter.id)
    assert [row["id"] for row in client.get(SITS).json()["results"]] == [made.data["id"]]
    assert (
        client.get(f"/api/v1/roster/?property={stage.cast.north.id}&date={DAY}").status_code == 403
    )


def test_the_same_reference_is_the_same_client(stage):
    client = stage.cast.application_client()
    first = client.post(SITS, body(stage.oak, client=CLIENT))
    client.post(f"{first['Location']}cancel/", {})

    second = client.post(SITS, body(stage.oak, client={**CLIENT, "phone": "555-0111"}))

    assert second.status_code == 201, second.data
    assert Client.objects.get().person.phone == "555-0111"
    assert first.data["person"] == second.data["person"]


def test_a_refused_client_leaves_nobody_behind(stage):
    papers = [{"kind": "licence", "expires_on": "2025-11-01"}]

    answer = stage.cast.application_client().post(
        SITS, body(stage.oak, client={**CLIENT, "papers": papers})
    )

    assert answer.status_code == 409
    assert [refusal["code"] for refusal in answer.json()["refusals"]] == [
        "paper_expired",
        "paper_missing",
    ]
    assert not Client.objects.exists()
    assert not Person.objects.filter(name="Cleo Client").exists()


@pytest.mark.parametrize("wrong", [{}, {"guests": []}, {"person": True}])
def test_an_outfitter_names_a_client_and_nobody_else(stage, wrong):
    more = {} if not wrong else {**wrong, "client": CLIENT}
    if "person" in more:
        more["person"] = str(stage.cast.member.id)

    answer = stage.cast.application_client().post(SITS, body(stage.oak, **more))

    assert answer.status_code == 400
    assert not Sit.objects.exists()


def test_an_outfitters_sits_are_not_those_of_a_property_no_longer_shared(stage):
    client = stage.cast.application_client()
    made = client.post(SITS, body(stage.oak, client=CLIENT))
    stage.cast.outfitter.shares.update(revoked_at=NOW)

    assert client.get(made["Location"]).status_code == 404
    assert client.post(SITS, body(stage.oak, client=CLIENT)).status_code == 400


def test_check_in_answers_with_the_stands_cautions_neighbours_and_light(stage, at_now):
    stage.oak.approach_route = {
        "type": "LineString",
        "coordinates": [[-91.49, 43.205], [stage.oak.longitude, stage.oak.latitude]],
    }
    stage.oak.save()
    sit = booked(stage)
    booked(stage, stage.ben, stand=stage.creek)
    client = stage.cast.client(stage.cast.member)
    at_now.move_to(sit.starts_at)

    answer = client.post(f"{SITS}{sit.id}/check-in/", {})

    assert answer.status_code == 200, answer.data
    assert answer.data["sit"]["state"] == "checked_in"
    briefing = answer.data["briefing"]
    codes = [caution["code"] for caution in briefing["cautions"]]
    assert {"harness", "haul_line", "inspection", "orange", "tell_somebody"} <= set(codes)
    assert "15 Aug 2025" in next(
        caution["sentence"] for caution in briefing["cautions"] if caution["code"] == "inspection"
    )
    assert briefing["route_in"]["type"] == "LineString"
    (neighbour,) = briefing["neighbours"]
    assert (neighbour["stand_name"], neighbour["first_name"]) == ("Creek", "Ben")
    # Creek stands 0.006° due north of Oak: 666.6 m by the 111.1 km of a degree at 43 N.
    assert neighbour["bearing_deg"] == pytest.approx(0.0, abs=0.01)
    assert neighbour["distance_m"] == pytest.approx(666.6, abs=1.0)
    assert neighbour["in_shooting_arc"]
    assert "state's regulations" in briefing["light_notice"]
    assert b" is safe" not in answer.content
    assert b" is legal" not in answer.content


def test_a_briefing_tells_the_light_by_the_propertys_clock_as_its_sessions_do(stage, at_now):
    sit = booked(stage)
    client = stage.cast.client(stage.cast.member)
    address = f"/api/v1/properties/{stage.cast.north.id}/sessions/?first_on={sit.local_date}"
    day = client.get(address).json()["days"][0]
    at_now.move_to(sit.starts_at)

    checked_in = client.post(f"{SITS}{sit.id}/check-in/", {}).json()["briefing"]

    for told in (checked_in, client.get(f"{SITS}{sit.id}/briefing/").json()):
        for name in ("shooting_light_from", "shooting_light_until"):
            assert told[name] == day[name]
            assert told[name].endswith("-06:00")


def test_a_ground_blind_has_no_harness_caution(stage):
    stage.oak.kind = "ground_blind"
    stage.oak.save()
    sit = booked(stage)

    answer = stage.cast.client(stage.cast.member).get(f"{SITS}{sit.id}/briefing/")

    codes = {caution["code"] for caution in answer.data["cautions"]}
    assert "harness" not in codes
    assert {"target", "no_promise"} <= codes


def test_a_wrong_order_over_http_is_a_409_with_its_own_code(stage):
    sit = booked(stage)
    client = stage.cast.client(stage.cast.member)

    answer = client.post(f"{SITS}{sit.id}/check-out/", {})

    assert (answer.status_code, answer.json()["code"]) == (409, "wrong_order")
    assert "is booked" in answer.json()["detail"]


def test_a_report_goes_in_and_comes_out_again(stage, at_now):
    sit = booked(stage)
    client = stage.cast.client(stage.cast.member)
    at_now.move_to(sit.ends_at)
    times = {"check-in": sit.starts_at, "check-out": sit.ends_at}
    for step, at in times.items():
        done = client.post(f"{SITS}{sit.id}/{step}/", {"at": at.isoformat()})
        assert done.status_code == 200, done.data

    made = client.post(
        f"{SITS}{sit.id}/report/",
        {
            "sightings": [{"sex": "buck", "age_class": "adult", "count": 1, "distance_m": 40}],
            "alarms": [{"sense": "heard", "count": 1}],
            "harvests": [{"harvest_class": "antlered", "dressed_weight_kg": 71.5}],
            "shots": 1,
        },
    )

    assert made.status_code == 201, made.data
    assert client.get(made["Location"]).data["sightings"][0]["sex"] == "buck"
    assert client.get(f"{SITS}{sit.id}/").data["check_in_entered_later"] is True
    (harvest,) = client.get("/api/v1/harvests/").data["results"]
    assert (harvest["harvest_class"], harvest["person_name"]) == ("antlered", "Mia Member")
    by_ben = stage.cast.client(stage.ben).get("/api/v1/harvests/").data["results"][0]
    assert (by_ben["person_name"], by_ben["person"]) == ("Mia", None)


@pytest.mark.parametrize(
    "bad",
    [
        {"sightings": [{"count": 0}]},
        {"wind_felt_quarters": [{"quarter": 5, "from_deg": 0, "speed_mps": 1}]},
        {
            "wind_felt_quarters": [
                {"quarter": 1, "from_deg": 0, "speed_mps": 1},
                {"quarter": 1, "from_deg": 9, "speed_mps": 1},
            ]
        },
        {"alarms": [{"sense": "smelled", "count": 1}]},
        {"wind_felt_from_deg": "NaN"},
    ],
)
def test_a_report_that_cannot_be_is_refused_with_a_pointer(stage, at_now, bad):
    sit = booked(stage)
    client = stage.cast.client(stage.cast.member)
    at_now.move_to(sit.ends_at)
    for step, at in {"check-in": sit.starts_at, "check-out": sit.ends_at}.items():
        client.post(f"{SITS}{sit.id}/{step}/", {"at": at.isoformat()})

    answer = client.post(f"{SITS}{sit.id}/report/", bad)

    assert answer.status_code == 400, answer.data
    assert answer.json()["errors"][0]["pointer"].startswith(f"#/{next(iter(bad))}")


def test_the_list_of_sits_asks_a_constant_number_of_queries(stage, django_assert_max_num_queries):
    manager = stage.cast.client(stage.cast.manager)
    booked(stage, guests=[make_guest(stage.cast.member)])
    manager.get(SITS)
    with django_assert_max_num_queries(8):
        manager.get(SITS)
    booked(stage, stage.ben, stand=stage.creek, guests=[])
    with django_assert_max_num_queries(8):
        assert len(manager.get(SITS).data["results"]) == 3


def test_somebody_whose_role_ended_checks_in_without_being_told_map_and_neighbours(stage, at_now):
    """The role ends, and the fact that cancels the sit is still on its way."""
    sit = booked(stage)
    booked(stage, stage.ben, stand=stage.creek)
    client = stage.cast.client(stage.cast.member)
    RoleGrant.objects.filter(person=stage.cast.member).update(revoked_at=NOW)
    at_now.move_to(sit.starts_at)

    answer = client.post(f"/api/v1/sits/{sit.id}/check-in/")

    assert answer.status_code == 200, answer.data
    assert answer.data["sit"]["state"] == "checked_in"
    assert answer.data["briefing"] is None
    assert client.get(f"/api/v1/sits/{sit.id}/briefing/").status_code == 403
    assert "Creek" not in answer.content.decode()


@pytest.mark.parametrize(
    ("member", "value", "says"),
    [
        ("overrule", {"codes": ["days_between"], "reason": "Please."}, "sets a house rule aside"),
        ("person", "other", "books for somebody else"),
    ],
)
def test_a_member_is_told_which_member_of_a_booking_is_the_managers(stage, member, value, says):
    if value == "other":
        value = str(stage.cast.manager.id)
    answer = stage.cast.client(stage.cast.member).post(SITS, body(stage.oak, **{member: value}))

    assert (answer.status_code, answer.data["code"]) == (403, "not_allowed"), answer.data
    (error,) = answer.data["errors"]
    assert (error["pointer"], error["code"]) == (f"#/{member}", "not_allowed")
    assert says in error["detail"]
    assert error["detail"] in answer.data["detail"]
    assert not Sit.objects.exists()


def test_what_one_may_not_do_at_all_points_at_no_member(stage):
    made = stage.cast.client(stage.cast.member).post(SITS, body(stage.oak))
    answer = stage.cast.client(stage.cast.member).post(made["Location"] + "mark-missed/", {})

    assert answer.status_code == 403, answer.data
    assert "errors" not in answer.data
