"""Wishes, harvest plans, sessions by the sun, and the house rules, over HTTP."""

from datetime import date

import pytest

from properties.people.youth_models import YouthRecord
from scheduling.rules.catalogue import RULES
from scheduling.sits.models import HarvestPlan, SitRequest
from tests.cast import make_member
from tests.scheduling.sits.stage import make_guest

pytestmark = pytest.mark.usefixtures("at_now")

REQUESTS = "/api/v1/sit-requests/"


def wish(stage, **more):
    return {
        "property": str(stage.cast.north.id),
        "first_on": "2025-11-07",
        "last_on": "2025-11-16",
        "wanted_sits": 3,
        "kinds": ["evening"],
        "wanted_stands": {str(stage.oak.id): 100},
        **more,
    }


def test_a_member_asks_changes_and_withdraws(stage):
    client = stage.cast.client(stage.cast.member)
    made = client.post(REQUESTS, wish(stage))
    assert made.status_code == 201, made.data

    changed = client.patch(made["Location"], {"wanted_sits": 2}, HTTP_IF_MATCH=made["ETag"])
    withdrawn = client.post(made["Location"] + "withdraw/")
    late = client.patch(made["Location"], {"wanted_sits": 1}, HTTP_IF_MATCH="*")

    assert (changed.status_code, changed.data["wanted_sits"]) == (200, 2)
    assert withdrawn.data["withdrawn_at"]
    assert (late.status_code, late.json()["code"]) == (409, "wrong_order")


@pytest.mark.parametrize(
    ("kinds", "most", "these"),
    [
        (["evening"], 2, "evenings"),
        (["all_day"], 2, "whole days"),
        ([], 4, "mornings and evenings"),
        (["morning", "evening"], 4, "mornings and evenings"),
        (["morning", "morning"], 2, "mornings"),
    ],
)
def test_a_wish_for_more_sits_than_its_days_have_is_refused(stage, kinds, most, these):
    two_days = {"kinds": kinds, "last_on": "2025-11-08"}
    client = stage.cast.client(stage.cast.member)
    made = client.post(REQUESTS, wish(stage, **two_days, wanted_sits=most))
    over = client.post(REQUESTS, wish(stage, **two_days, wanted_sits=most + 1))
    fewer_days = client.patch(made["Location"], {"last_on": "2025-11-07"}, HTTP_IF_MATCH="*")

    assert (made.status_code, over.status_code, fewer_days.status_code) == (201, 400, 400)
    (fault,) = over.json()["errors"]
    assert fault["pointer"] == fewer_days.json()["errors"][0]["pointer"] == "#/wanted_sits"
    said = f"At most {most}: so many {these} lie between first_on and last_on."
    assert fault["detail"] == said


@pytest.mark.parametrize(
    ("wrong", "pointer"),
    [
        ({"last_on": "2025-11-01"}, "#/last_on"),
        ({"first_on": "2025-10-01", "last_on": "2025-10-05"}, "#/last_on"),
        ({"wanted_sits": 0}, "#/wanted_sits"),
        ({"wanted_sits": 11}, "#/wanted_sits"),
        ({"kinds": ["noon"]}, "#/kinds/0"),
        (
            {"wanted_stands": {"0193a1c2-0000-7000-8000-000000000001": 100}},
            "#/wanted_stands/0193a1c2-0000-7000-8000-000000000001",
        ),
        ({"wanted_stands": {"oak": 100}}, "#/wanted_stands/oak"),
        ({"wanted_stands": {"a/b": 0}}, "#/wanted_stands/a~1b"),
        (
            {"wanted_stands": {"0193a1c2-0000-7000-8000-000000000001": 0}},
            "#/wanted_stands/0193a1c2-0000-7000-8000-000000000001",
        ),
    ],
)
def test_a_wish_that_cannot_be_is_a_400_with_its_field(stage, wrong, pointer):
    answer = stage.cast.client(stage.cast.member).post(REQUESTS, wish(stage, **wrong))

    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]
    assert not SitRequest.objects.exists()


def test_a_wish_names_the_hosts_own_guests_and_is_changed_like_the_rest(stage):
    gus, gwen = make_guest(stage.cast.member), make_guest(stage.cast.member, "Gwen Guest")
    client = stage.cast.client(stage.cast.member)

    made = client.post(REQUESTS, wish(stage, guests=[str(gus.id)]))
    changed = client.patch(
        made["Location"], {"guests": [str(gus.id), str(gwen.id)]}, HTTP_IF_MATCH=made["ETag"]
    )
    alone = client.patch(made["Location"], {"guests": []}, HTTP_IF_MATCH=changed["ETag"])

    assert (made.status_code, made.data["guests"]) == (201, [str(gus.id)])
    assert client.get(REQUESTS).data["results"][0]["guests"] == []
    assert changed.data["guests"] == [str(gus.id), str(gwen.id)]
    assert (alone.status_code, alone.data["guests"]) == (200, [])


@pytest.mark.parametrize("whose", ["another host", "a member", "a stranger", "twice", "nobody"])
def test_a_wish_names_nobody_whom_a_booking_could_not(stage, whose):
    own = make_guest(stage.cast.member)
    named = {
        "another host": [make_guest(stage.ben, "Bea Guest").id],
        "a member": [stage.ben.id],
        "a stranger": [make_guest(stage.cast.stranger, "Stu Guest").id],
        "twice": [own.id, own.id],
        "nobody": ["0193a1c2-0000-7000-8000-000000000001"],
    }[whose]

    answer = stage.cast.client(stage.cast.member).post(
        REQUESTS, wish(stage, guests=[str(guest) for guest in named])
    )

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"].startswith("#/guests")
    assert not SitRequest.objects.exists()


def test_a_wish_names_a_young_member_whom_the_person_supervises_on_its_first_day(stage):
    teens = make_member(stage.cast.cooperative, "Tess Teen", stage.cast.north)
    record = YouthRecord.objects.create(
        person=teens, youth_until=date(2025, 11, 7), supervisor=stage.cast.member
    )
    client = stage.cast.client(stage.cast.member)

    on_time = client.post(REQUESTS, wish(stage, guests=[str(teens.id)]))
    late = client.post(REQUESTS, wish(stage, first_on="2025-11-08", guests=[str(teens.id)]))
    record.supervisor = stage.ben
    record.save()
    not_theirs = client.post(REQUESTS, wish(stage, guests=[str(teens.id)]))

    assert [answer.status_code for answer in (on_time, late, not_theirs)] == [201, 400, 400]


def test_a_manager_names_the_guests_of_whoever_would_sit(stage):
    gus = make_guest(stage.cast.member)
    client = stage.cast.client(stage.cast.manager)

    theirs = client.post(
        REQUESTS, wish(stage, person=str(stage.cast.member.id), guests=[str(gus.id)])
    )
    own = client.post(REQUESTS, wish(stage, guests=[str(gus.id)]))

    assert (theirs.status_code, own.status_code) == (201, 400)


def test_a_member_reads_their_own_wishes_and_a_manager_all(stage):
    stage.cast.client(stage.cast.member).post(REQUESTS, wish(stage))
    stage.cast.client(stage.ben).post(REQUESTS, wish(stage))

    own = stage.cast.client(stage.ben).get(REQUESTS).data["results"]
    every = stage.cast.client(stage.cast.manager).get(REQUESTS).data["results"]

    assert [row["person_name"] for row in own] == ["Ben Second"]
    assert len(every) == 2
    assert stage.cast.client(stage.cast.other_member).get(REQUESTS).data["results"] == []
    assert stage.cast.client(stage.cast.landowner).post(REQUESTS, wish(stage)).status_code == 403


def test_managers_plan_the_harvest_and_members_read_it(stage):
    plan = {
        "property": str(stage.cast.north.id),
        "season_year": 2025,
        "harvest_class": "antlerless",
        "planned": 8,
    }
    member = stage.cast.client(stage.cast.member)
    manager = stage.cast.client(stage.cast.manager)

    assert member.post("/api/v1/harvest-plans/", plan).status_code == 403
    made = manager.post("/api/v1/harvest-plans/", plan)
    assert made.status_code == 201, made.data
    again = manager.post("/api/v1/harvest-plans/", plan)
    assert again.status_code in (400, 409)
    changed = manager.patch(made["Location"], {"planned": 9}, HTTP_IF_MATCH=made["ETag"])
    assert changed.data["planned"] == 9
    assert member.get("/api/v1/harvest-plans/").data["results"][0]["planned"] == 9
    assert manager.delete(made["Location"]).status_code == 204
    assert not HarvestPlan.objects.exists()


def test_the_house_rules_are_documented_with_codes_settings_and_what_may_be_overruled(stage):
    answer = stage.cast.client(stage.cast.member).get("/api/v1/house-rules/")

    assert len(answer.data) == len(RULES) + 1
    listed = {each["code"]: each for rule in answer.data for each in rule["objections"]}
    assert listed["danger_arc"]["overrulable"] is False
    assert listed["stand_resting"]["overrulable"] is True
    assert "sits_overlap" in listed


def test_the_house_rules_settings_are_among_those_that_can_be_set(stage):
    known = stage.cast.client(stage.cast.member).get("/api/v1/settings/").data

    groups = {setting["group"] for setting in known}
    assert {"house_rules", "sits"} <= groups
