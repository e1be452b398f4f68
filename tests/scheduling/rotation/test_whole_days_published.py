"""Whole days asked for over HTTP become all-day sits, and stay what they are."""

from datetime import date

import pytest
import time_machine

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rotation.gather import gather
from scheduling.sits.models import SeatClaim, Sit, SitOrigin, SitRequest, SitState
from tests.cast import NOW
from tests.scheduling.rotation.test_plans_that_are_published import (
    FIRST,
    LAST,
    compute,
    publish,
    wish,
)
from tests.scheduling.sits.stage import make_stage


@pytest.fixture
def stage(cast):
    return make_stage(cast)


def ask(stage, **fields):
    body = {
        "property": str(stage.cast.north.id),
        "first_on": f"{FIRST:%Y-%m-%d}",
        "last_on": f"{LAST:%Y-%m-%d}",
        "wanted_sits": 1,
        **fields,
    }
    with time_machine.travel(NOW, tick=False):
        return stage.cast.client(stage.cast.member).post(
            "/api/v1/sit-requests/", body, format="json"
        )


def test_a_whole_day_is_asked_for_alone(stage):
    assert ask(stage, kinds=["all_day"]).status_code == 201
    both = ask(stage, kinds=["all_day", "evening"])
    assert (both.status_code, "all_day alone" in str(both.data)) == (400, True)


def test_a_wished_whole_day_is_published_as_one_all_day_sit(stage):
    ask(stage, kinds=["all_day"])
    plan = compute(stage)
    rows = list(plan.seats.order_by("-kind"))
    assert [(row.kind, row.continues_morning) for row in rows] == [
        ("morning", False),
        ("evening", True),
    ]
    assert plan.result["levels"][0]["value"] == 1

    published = publish(stage, plan)

    sit = Sit.objects.get(origin=SitOrigin.ROTATION)
    assert (published.placed.added, sit.span, SeatClaim.objects.count()) == (1, "all_day", 2)
    assert set(plan.seats.values_list("sit_id", flat=True)) == {sit.id}
    windows = gather(lands=[stage.cast.north], first_on=FIRST, last_on=LAST, now=NOW).facts.windows
    land, day = stage.cast.north.id, sit.local_date
    assert sit.starts_at == windows[land, SessionKey(day, SessionKind.MORNING)].approach_from
    assert sit.ends_at == windows[land, SessionKey(day, SessionKind.EVENING)].exit_until


def test_an_all_day_sit_published_stays_where_it_is(stage):
    ask(stage, kinds=["all_day"])
    publish(stage, compute(stage))
    before = set(Sit.objects.values_list("id", "stand_id", "local_date", "span", "state"))

    plan = compute(stage)
    again = publish(stage, plan)

    assert plan.result["levels"][-1]["value"] == 0
    assert (again.placed.kept, again.placed.added, again.placed.withdrawn) == (1, 0, 0)
    assert set(Sit.objects.values_list("id", "stand_id", "local_date", "span", "state")) == before


def test_an_all_day_sit_whose_wish_shrinks_to_an_evening_is_withdrawn_and_given_anew(stage):
    ask(stage, kinds=["all_day"])
    publish(stage, compute(stage))
    SitRequest.objects.update(kinds=["evening"])

    placed = publish(stage, compute(stage)).placed

    assert (placed.added, placed.withdrawn) == (1, 1)
    standing = Sit.objects.get(state=SitState.BOOKED)
    assert standing.span == "evening"
    assert SeatClaim.objects.count() == 1


def test_a_frozen_all_day_sit_counts_once_among_the_sits_asked_for(stage):
    ask(stage, kinds=["all_day"])
    publish(stage, compute(stage))
    Sit.objects.update(lock_reason="their anniversary")

    plan = compute(stage)

    assert plan.result["requested"] == 1
    assert plan.result["levels"][0]["value"] == 1
    assert set(plan.seats.values_list("locked", flat=True)) == {True}


def test_a_day_asked_for_both_ways_is_planned_as_a_whole(stage):
    wish(stage, stage.cast.member, 1, kinds=["evening"])
    day = SitRequest.objects.get()
    day.first_on = day.last_on = date(2025, 11, 8)
    day.kinds, day.pk = ["all_day"], None
    day.id = SitRequest._meta.get_field("id").get_default()
    day.save(force_insert=True)

    member = gather(
        lands=[stage.cast.north], first_on=FIRST, last_on=LAST, now=NOW
    ).problem.members[0]

    assert member.all_day_on == (date(2025, 11, 8),)
    assert date(2025, 11, 8) not in {session.local_date for session in member.available}
    assert {session.kind for session in member.available} == {SessionKind.EVENING}
