"""A manager of some of a plan's properties reads what concerns these, and nothing from elsewhere.

The cast's manager manages north. Mia belongs to north and south, Otto to south.
"""

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coop.access.roles import Role
from properties.people.models import Person
from scheduling.rotation import services
from scheduling.rotation.models import RotationPlan
from scheduling.rotation.told_queries import unmet_shown_to
from tests.cast import NOW, grant
from tests.scheduling.rotation.test_plans_that_are_published import FIRST, LAST, publish, wish
from tests.scheduling.sits.stage import make_stage

PLANS = "/api/v1/rotation-plans/"


@pytest.fixture(autouse=True)
def at_now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def stage(cast):
    grant(cast.member, Role.MEMBER, cast.south)
    return make_stage(cast)


def south_wish(stage, person: Person, sits: int, **fields):
    request = wish(stage, person, sits, **fields)
    request.property = stage.cast.south
    request.save()
    return request


def joint_plan(stage) -> RotationPlan:
    cast = stage.cast
    return services.recompute_rotation(
        actor=cast.actor(cast.coordinator),
        lands=[cast.north, cast.south],
        first_on=FIRST,
        last_on=LAST,
        now=NOW,
    )


def told(stage, person: Person, plan: RotationPlan, path: str):
    return stage.cast.client(person).get(f"{PLANS}{plan.id}/{path}/")


@pytest.mark.parametrize("is_published", [False, True])
def test_of_wishes_left_out_a_manager_reads_those_on_their_property(stage, is_published):
    cast = stage.cast
    wish(stage, cast.member, 9, kinds=["morning"])
    south_wish(stage, cast.member, 9, kinds=["evening"])
    south_wish(stage, cast.other_member, 9)
    plan = joint_plan(stage)
    if is_published:
        publish(stage, plan)

    answer = told(stage, cast.manager, plan, "unmet")

    (mia,) = answer.data
    seats = plan.seats.filter(person=cast.member, property=cast.north).count()
    assert (mia["person_name"], mia["is_part"]) == ("Mia Member", True)
    assert (mia["sits_requested"], mia["sits"]) == (9, seats)
    assert f"Asked for 9 sits on {cast.north.name}" in mia["sentence"]
    assert {one["property_name"] for one in mia["obstacles"]} == {cast.north.name}
    assert {one["stand_name"] for one in mia["obstacles"]} <= {"Oak", "Creek"}
    text = answer.content.decode()
    for hidden in (cast.south.name, str(cast.south.id), str(stage.far.id), "Otto"):
        assert hidden not in text


def test_more_obstacles_and_people_take_no_more_queries(stage):
    cast = stage.cast

    def asked(plan: RotationPlan) -> tuple[int, int]:
        actor = cast.actor(cast.coordinator)
        with CaptureQueriesContext(connection) as asked:
            rows = unmet_shown_to(actor=actor, plan=plan)
        return sum(len(row["obstacles"]) for row in rows), len(asked)

    wish(stage, cast.member, 9, kinds=["morning"])
    few, before = asked(joint_plan(stage))
    for person in (cast.member, stage.ben):
        wish(stage, person, 9)
    south_wish(stage, cast.other_member, 9)
    many, after = asked(joint_plan(stage))

    assert many > 2 * few > 0
    assert after == before


def test_whoever_has_on_a_property_what_they_asked_for_there_is_not_told_of(stage):
    cast = stage.cast
    wish(stage, cast.member, 1, kinds=["morning"])
    south_wish(stage, cast.member, 9, kinds=["evening"])
    plan = joint_plan(stage)

    assert plan.seats.filter(property=cast.north).count() == 1
    assert [row["person"] for row in told(stage, cast.coordinator, plan, "unmet").data] == [
        str(cast.member.id)
    ]
    assert told(stage, cast.manager, plan, "unmet").data == []


def test_whoever_manages_all_reads_all_of_a_wish_with_names(stage):
    cast = stage.cast
    wish(stage, cast.member, 9)
    south_wish(stage, cast.member, 9)
    plan = joint_plan(stage)

    (mia,) = told(stage, cast.coordinator, plan, "unmet").data

    assert (mia["is_part"], mia["person_name"]) == (False, "Mia Member")
    named = {(one["property_name"], one["stand_name"]) for one in mia["obstacles"]}
    assert {place for place, _ in named} == {cast.north.name, cast.south.name}
    assert mia["reasons"]
    assert {reason["code"] for reason in mia["reasons"]} == {
        one["code"] for one in mia["obstacles"]
    }


def test_a_managers_own_wish_stands_first_and_is_whole(stage):
    cast = stage.cast
    for land in (cast.north, cast.south):
        grant(cast.manager, Role.MEMBER, land)
    for person in (cast.member, cast.manager):
        wish(stage, person, 9)
        south_wish(stage, person, 9)
    plan = joint_plan(stage)

    own, mia = told(stage, cast.manager, plan, "unmet").data

    assert (own["person"], own["is_part"]) == (str(cast.manager.id), False)
    assert (mia["person"], mia["is_part"]) == (str(cast.member.id), True)


def test_a_member_reads_none_but_their_own_of_a_joint_plan(stage):
    wish(stage, stage.cast.member, 9)
    south_wish(stage, stage.cast.other_member, 9)
    plan = joint_plan(stage)
    publish(stage, plan)

    (own,) = told(stage, stage.cast.member, plan, "unmet").data

    assert (own["person"], own["is_part"]) == (str(stage.cast.member.id), False)
    assert told(stage, stage.ben, plan, "unmet").data == []


def test_of_a_plan_whose_wishes_name_no_property_a_part_is_refused_and_not_empty(stage):
    wish(stage, stage.cast.member, 9)
    plan = joint_plan(stage)
    for row in plan.explanations:
        del row["asked_on"]
    plan.save()

    answer = told(stage, stage.cast.manager, plan, "unmet")

    assert (answer.status_code, answer.data["code"]) == (404, "not_found")
    assert "before wishes were kept by property" in answer.data["detail"]
    assert len(told(stage, stage.cast.coordinator, plan, "unmet").data) == 1


def test_of_a_draft_a_manager_reads_the_seats_they_plan_and_not_where_they_only_belong(stage):
    cast = stage.cast
    grant(cast.manager, Role.MEMBER, cast.south)
    wish(stage, cast.member, 1, kinds=["morning"])
    south_wish(stage, cast.other_member, 1)
    plan = joint_plan(stage)

    drafted = told(stage, cast.manager, plan, "seats").data
    publish(stage, plan)
    published = told(stage, cast.manager, plan, "seats").data

    assert [row["property_name"] for row in drafted] == [cast.north.name]
    assert {row["property_name"] for row in published} == {cast.north.name, cast.south.name}


def test_a_manager_of_a_part_reads_what_a_draft_would_change_there_and_cannot_publish(stage):
    cast = stage.cast
    wish(stage, cast.member, 1, kinds=["morning"])
    south_wish(stage, cast.member, 1, kinds=["evening"])
    south_wish(stage, cast.other_member, 1)
    url = f"{PLANS}{joint_plan(stage).id}/"
    client = cast.client(cast.manager)

    (mia,) = client.get(url + "preview/").data
    whole = cast.client(cast.coordinator).get(url + "preview/").data
    publishing = client.post(url + "publish/")

    (added,) = mia["added"]
    assert (mia["person_name"], mia["removed"]) == ("Mia Member", [])
    assert (added["property_name"], added["kind"]) == (cast.north.name, "morning")
    assert added["stand_name"] in {"Oak", "Creek"}
    assert sum(len(row["added"]) for row in whole) == 3
    assert publishing.status_code == 403
    assert "which you do not manage" in publishing.data["detail"]


def test_a_difference_has_the_reader_first_and_then_whoever_changes_first(stage):
    cast = stage.cast
    grant(stage.ben, Role.MANAGER, cast.north)
    grant(stage.ben, Role.MANAGER, cast.south)
    late = wish(stage, stage.ben, 1)
    late.first_on = LAST
    late.save()
    early = wish(stage, cast.member, 1)
    early.last_on = FIRST
    early.save()
    plan = joint_plan(stage)

    for_coordinator = told(stage, cast.coordinator, plan, "preview").data
    for_ben = told(stage, stage.ben, plan, "preview").data

    assert [row["person_name"] for row in for_coordinator] == ["Mia Member", "Ben Second"]
    assert [row["person_name"] for row in for_ben] == ["Ben Second", "Mia Member"]
