"""One member with several wishes: what each asks for is asked for, and nothing else."""

from datetime import timedelta

import pytest
import time_machine

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rotation.checks import MOST_ASKS
from scheduling.rotation.gather import gather
from scheduling.rotation.problem import PlanMember
from scheduling.sits.models import Sit
from tests.cast import NOW
from tests.scheduling.rotation.test_plans_that_are_published import (
    FIRST,
    LAST,
    compute,
    publish,
    wish,
)
from tests.scheduling.sits.stage import make_stage

MORNING, EVENING = SessionKind.MORNING, SessionKind.EVENING
SECOND = FIRST + timedelta(days=1)


@pytest.fixture(autouse=True)
def at_now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def stage(cast):
    return make_stage(cast)


def member_of(stage) -> PlanMember:
    gathered = gather(lands=[stage.cast.north], first_on=FIRST, last_on=LAST, now=NOW)
    (member,) = gathered.problem.members
    return member


def planned(plan) -> set[tuple]:
    return set(plan.seats.values_list("stand__name", "local_date", "kind"))


def test_a_wish_for_one_stand_takes_no_other_stand_from_a_wish_for_any(stage):
    wish(stage, stage.cast.member, 2, kinds=["evening"])
    before = compute(stage)
    # A morning at the creek, asked for beside the evenings anywhere.
    wish(stage, stage.cast.member, 1, kinds=["morning"], wanted_stands={str(stage.creek.id): 100})

    assert compute(stage).seats.count() > before.seats.count()
    member = member_of(stage)
    assert member.preference_percent == {}
    assert {stand for stand, _session in member.not_at} == {str(stage.oak.id)}
    assert {session.kind for _stand, session in member.not_at} == {MORNING}


def test_nobody_is_planned_at_a_stand_at_a_time_for_which_they_wanted_another(stage):
    wish(stage, stage.cast.member, 3, kinds=["evening"], wanted_stands={str(stage.creek.id): 100})
    wish(stage, stage.cast.member, 3, kinds=["morning"], wanted_stands={str(stage.oak.id): 60})

    member = member_of(stage)

    assert member.preference_percent == {str(stage.oak.id): 60}
    assert set(member.not_at) == {
        (str(stand.id), session)
        for session in member.available
        for stand in (stage.oak, stage.creek)
        if (stand == stage.creek) is (session.kind is MORNING)
    }
    seats = planned(compute(stage))
    assert seats
    assert {(stand, kind) for stand, _day, kind in seats} <= {
        (stage.creek.name, "evening"),
        (stage.oak.name, "morning"),
    }


def test_a_wish_of_one_day_asks_for_its_stand_that_day_alone(stage):
    wish(stage, stage.cast.member, 1, wanted_stands={str(stage.creek.id): 100})
    request = wish(stage, stage.cast.member, 1, wanted_stands={str(stage.oak.id): 100})
    request.first_on = request.last_on = SECOND
    request.save()

    member = member_of(stage)

    oak = {session for stand, session in member.not_at if stand == str(stage.oak.id)}
    assert oak == {session for session in member.available if session.local_date != SECOND}
    assert {stand for stand, _session in member.not_at} == {str(stage.oak.id)}


def test_why_not_me_goes_into_what_was_asked_for_alone(stage):
    wish(stage, stage.cast.member, 9, kinds=["evening"], wanted_stands={str(stage.creek.id): 100})
    wish(stage, stage.cast.member, 9, kinds=["morning"], wanted_stands={str(stage.oak.id): 100})

    (told,) = compute(stage).explanations

    assert told["obstacles"]
    assert {(each["stand"], each["kind"]) for each in told["obstacles"]} <= {
        (str(stage.creek.id), "evening"),
        (str(stage.oak.id), "morning"),
    }


def test_each_wish_holds_its_own_number_of_sits(stage):
    # Many mornings at the creek would be to be had, and one was asked for.
    wish(stage, stage.cast.member, 1, kinds=["morning"], wanted_stands={str(stage.creek.id): 100})
    wish(stage, stage.cast.member, 4, kinds=["evening"], wanted_stands={str(stage.oak.id): 100})
    wish(stage, stage.ben, 5, kinds=["evening"], wanted_stands={str(stage.oak.id): 100})

    plan = compute(stage)

    own = plan.seats.filter(person=stage.cast.member)
    assert own.filter(kind="morning").count() == 1
    told = [one for one in plan.explanations if one["person"] == str(stage.cast.member.id)]
    assert all(each["kind"] == "evening" for one in told for each in one["obstacles"])


def test_what_is_booked_already_fills_the_wish_that_asks_for_it(stage):
    wish(stage, stage.cast.member, 1, kinds=["morning"])
    wish(stage, stage.cast.member, 1, kinds=["evening"])
    publish(stage, compute(stage))
    Sit.objects.filter(span="morning").update(lock_reason="Comes with a friend.")

    again = compute(stage)

    assert {(seat.kind, seat.locked) for seat in again.seats.all()} == {
        ("morning", True),
        ("evening", False),
    }


def test_more_wishes_than_a_plan_parts_share_their_number(stage):
    for _ in range(MOST_ASKS):
        wish(stage, stage.cast.member, 1, kinds=["evening"])
    assert [one.sits_requested for one in member_of(stage).asks] == [1] * MOST_ASKS
    assert all(one.sessions[0].kind is EVENING for one in member_of(stage).asks)

    wish(stage, stage.cast.member, 1, kinds=["morning"])

    assert member_of(stage).asks == ()
    assert member_of(stage).sits_requested == MOST_ASKS + 1


def test_a_retired_stand_is_asked_for_by_no_wish(stage):
    for _ in range(2):
        wish(stage, stage.cast.member, 1)
    stage.oak.retired_at = NOW
    stage.oak.save()
    assert {one.stands for one in member_of(stage).asks} == {(str(stage.creek.id),)}


def test_stands_wanted_alike_in_every_wish_bar_nothing(stage):
    for sits in (1, 2):
        wish(stage, stage.cast.member, sits, wanted_stands={str(stage.creek.id): 100})

    member = member_of(stage)

    assert (member.not_at, member.sits_requested) == ((), 3)
    assert member.preference_percent == {str(stage.oak.id): 0}
    assert SessionKey(FIRST, EVENING) in member.available
