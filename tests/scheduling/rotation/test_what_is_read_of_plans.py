"""What members read of plans: published ones, first names; and why a part is not planned alone."""

import pytest
import time_machine
from django.db import IntegrityError, transaction

from coop.access.roles import Role
from properties.people.models import Person
from scheduling.rotation import services
from scheduling.rotation.models import PlanState, RotationPlan
from tests.cast import NOW, grant, make_member, make_property
from tests.scheduling.rotation.test_plans_that_are_published import compute, publish, wish
from tests.scheduling.rotation.test_plans_with_guests import wish_with
from tests.scheduling.sits.stage import make_guest, make_stage

PLANS = "/api/v1/rotation-plans/"
ALONE = "Only whoever manages all of them, or the coordinator, may do this."


@pytest.fixture(autouse=True)
def at_now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def stage(cast):
    return make_stage(cast)


def told(stage, person: Person, path: str = "", **query):
    return stage.cast.client(person).get(f"{PLANS}{path}", query)


def listed(stage, person: Person, **query) -> list[str]:
    return [plan["id"] for plan in told(stage, person, **query).data["results"]]


def stale_draft(stage) -> RotationPlan:
    wish(stage, stage.cast.member, 2)
    plan = compute(stage)
    wish(stage, make_member(stage.cast.cooperative, "Nell Newcomer", stage.cast.north), 1)
    answer = stage.cast.client(stage.cast.manager).post(f"{PLANS}{plan.id}/publish/")
    assert answer.data["code"] == "stale_plan"
    plan.refresh_from_db()
    assert (plan.state, plan.seats.count()) == (PlanState.STALE, 2)
    return plan


@pytest.mark.parametrize(
    ("state", "published_at"),
    [
        (PlanState.PUBLISHED, None),
        (PlanState.SUPERSEDED, None),
        (PlanState.DRAFT, NOW),
        (PlanState.STALE, NOW),
    ],
)
def test_no_plan_is_stored_whose_state_and_publication_disagree(stage, state, published_at):
    wish(stage, stage.cast.member, 2)
    plan = compute(stage)

    stored = RotationPlan.objects.filter(id=plan.id)
    with (
        pytest.raises(IntegrityError, match="plan_is_published_at_an_instant"),
        transaction.atomic(),
    ):
        stored.update(state=state, published_at=published_at)


@pytest.mark.parametrize("state", [PlanState.PUBLISHED, PlanState.SUPERSEDED])
def test_a_plan_that_is_no_draft_has_no_preview_and_says_what_it_is(stage, state):
    wish(stage, stage.cast.member, 2)
    plan = compute(stage)
    publish(stage, plan)
    RotationPlan.objects.filter(id=plan.id).update(state=state)

    answer = told(stage, stage.cast.manager, f"{plan.id}/preview/")

    assert (answer.status_code, answer.data["code"]) == (409, "wrong_order")
    assert answer.data["detail"] == f"Only a draft is previewed; this plan is {state}."


def test_a_draft_gone_stale_still_says_so_in_its_preview(stage):
    answer = told(stage, stage.cast.manager, f"{stale_draft(stage).id}/preview/")

    assert (answer.status_code, answer.data["code"]) == (409, "stale_plan")


def test_a_draft_gone_stale_is_read_by_its_makers_and_by_no_member(stage):
    plan = stale_draft(stage)

    assert listed(stage, stage.cast.member, state="stale") == []
    for path in ("", "seats/", "unmet/"):
        answers = [
            told(stage, person, f"{plan.id}/{path}").status_code
            for person in (stage.cast.member, stage.cast.manager)
        ]
        assert answers == [404, 200]
    assert listed(stage, stage.cast.manager, state="stale") == [str(plan.id)]


def test_a_plan_superseded_by_the_next_is_still_read_by_members(stage):
    wish(stage, stage.cast.member, 1)
    first = compute(stage)
    publish(stage, first)
    second = compute(stage)
    assert listed(stage, stage.cast.member) == [str(first.id)]

    publish(stage, second)

    assert listed(stage, stage.cast.member, state="superseded") == [str(first.id)]
    assert set(listed(stage, stage.cast.member)) == {str(first.id), str(second.id)}
    assert len(told(stage, stage.cast.member, f"{first.id}/seats/").data) == 1


@pytest.mark.parametrize(
    ("reader", "name", "sees_whose"),
    [("member", "Mia Member", True), ("manager", "Mia Member", True), ("ben", "Mia", False)],
)
def test_of_others_seats_a_member_reads_what_the_roster_tells(stage, reader, name, sees_whose):
    gus = make_guest(stage.cast.member)
    wish_with(stage, gus)
    plan = compute(stage)
    publish(stage, plan)
    seat = plan.seats.get()
    person = stage.ben if reader == "ben" else getattr(stage.cast, reader)

    answer = told(stage, person, f"{plan.id}/seats/")

    (row,) = answer.data
    assert (row["person_name"], row["stand"]) == (name, seat.stand_id)
    assert seat.quality_pct > 0
    expected = (str(seat.person_id), seat.quality_pct, str(gus.id))
    found = (row["person"], row["quality_pct"], row["guests"][0]["person"])
    assert found == (expected if sees_whose else (None, None, None))
    assert (str(seat.person_id) in answer.content.decode()) is sees_whose


def with_a_hidden_property(stage) -> None:
    """North, south and a third, which the manager of north does not see, share members."""
    cast = stage.cast
    third = make_property(cast.cooperative, "Third Forty", -95.2, 38.2)
    both = make_member(cast.cooperative, "Nell Both", cast.north, cast.south)
    grant(both, Role.MEMBER, third)


def recompute(stage, person: Person):
    body = {"property": str(stage.cast.north.id)}
    return stage.cast.client(person).post(f"{PLANS}recompute/", body, format="json")


def test_a_manager_of_a_part_is_told_which_others_are_planned_along(stage):
    cast = stage.cast
    with_a_hidden_property(stage)

    unseen = recompute(stage, cast.manager)
    grant(cast.manager, Role.MEMBER, cast.south)
    seen = recompute(stage, cast.manager)

    assert (unseen.status_code, unseen.data["code"]) == (403, "not_allowed")
    together = "Properties that share members are planned together: here also"
    assert unseen.data["detail"] == f"{together} others, which you do not manage. {ALONE}"
    south = f"{cast.south.name} and others"
    assert seen.data["detail"] == f"{together} {south}, which you do not manage. {ALONE}"
    assert recompute(stage, cast.coordinator).status_code == 202


def test_who_plans_nowhere_is_told_of_no_group(stage):
    with_a_hidden_property(stage)
    answer = recompute(stage, stage.cast.member)
    assert (answer.status_code, answer.data["detail"]) == (403, "Your role does not allow this.")


@pytest.mark.parametrize("path", ["relaxations/", "publish/"])
def test_what_is_done_with_a_joint_draft_is_refused_with_the_reason_too(stage, path):
    cast = stage.cast
    plan = services.recompute_rotation(
        actor=cast.actor(cast.coordinator), lands=[cast.north, cast.south], now=NOW
    )
    client = cast.client(cast.manager)
    ask = client.post if path == "publish/" else client.get
    answer = ask(f"{PLANS}{plan.id}/{path}")
    assert answer.status_code == 403
    assert "here also others, which you do not manage" in answer.data["detail"]
