"""Wishes, harvest plans, sessions by the sun, and the house rules, over HTTP."""

import pytest

from scheduling.rules.catalogue import RULES
from scheduling.sits.models import HarvestPlan, SitRequest

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
    ("wrong", "pointer"),
    [
        ({"last_on": "2025-11-01"}, "#/last_on"),
        ({"first_on": "2025-10-01", "last_on": "2025-10-05"}, "#/last_on"),
        ({"wanted_sits": 0}, "#/wanted_sits"),
        ({"kinds": ["noon"]}, "#/kinds/0"),
        ({"wanted_stands": {"0193a1c2-0000-7000-8000-000000000001": 100}}, "#/wanted_stands"),
        ({"wanted_stands": {"oak": 100}}, "#/wanted_stands"),
    ],
)
def test_a_wish_that_cannot_be_is_a_400_with_its_field(stage, wrong, pointer):
    answer = stage.cast.client(stage.cast.member).post(REQUESTS, wish(stage, **wrong))

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"].startswith(pointer)
    assert not SitRequest.objects.exists()


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
