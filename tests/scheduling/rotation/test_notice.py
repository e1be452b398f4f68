"""Whoever asked for notice is neither given a sit at short notice nor moved at short notice."""

from datetime import timedelta

import pytest
import time_machine

from scheduling.rotation import services
from scheduling.rotation.gather import gather
from scheduling.sits.models import Sit, SitRequest
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


def gathered(stage, now=NOW):
    return gather(lands=[stage.cast.north], first_on=FIRST, last_on=LAST, now=now)


def test_no_session_sooner_than_the_notice_is_planned_anew(stage):
    wish(stage, stage.cast.member, 1, notice_days=6)
    found = gathered(stage)
    (member,) = found.problem.members
    land = stage.cast.north.id
    for session in found.problem.sessions:
        in_time = found.facts.windows[land, session].approach_from >= NOW + timedelta(days=6)
        assert (session in member.available) == in_time
    assert 0 < len(member.available) < len(found.problem.sessions)
    assert found.kept_out[member.id] == ("You asked for 6 days of notice.",)


def test_without_notice_nothing_is_left_out_or_told(stage):
    wish(stage, stage.cast.member, 1)
    found = gathered(stage)
    (member,) = found.problem.members
    assert len(member.available) == len(found.problem.sessions)
    assert found.kept_out[member.id] == ()


def test_a_whole_day_counts_from_its_morning(stage):
    wish(stage, stage.cast.member, 1, kinds=["all_day"], notice_days=6)
    (member,) = gathered(stage).problem.members
    days = {session.local_date for session in gathered(stage).problem.sessions}
    assert 0 < len(member.all_day_on) < len(days)


@pytest.mark.parametrize(("notice_days", "stays"), [(0, False), (5, True)])
def test_a_planned_sit_within_the_notice_no_longer_moves(stage, notice_days, stays):
    wish(stage, stage.cast.member, 1, notice_days=notice_days)
    publish(stage, compute(stage))
    sit = Sit.objects.get()
    SitRequest.objects.filter(notice_days=notice_days).update(wanted_sits=2)
    # Four days before: beyond the freeze of two days, within a notice of five.
    plan = services.recompute_rotation(
        actor=stage.cast.actor(stage.cast.coordinator),
        lands=[stage.cast.north],
        first_on=FIRST,
        last_on=LAST,
        now=sit.starts_at - timedelta(days=4),
    )
    locked = plan.seats.filter(locked=True)
    assert [row.stand_id for row in locked] == ([sit.stand_id] if stays else [])


def test_notice_is_asked_for_over_http_within_bounds(stage):
    body = {
        "property": str(stage.cast.north.id),
        "first_on": f"{FIRST:%Y-%m-%d}",
        "last_on": f"{LAST:%Y-%m-%d}",
        "wanted_sits": 1,
    }
    client = stage.cast.client(stage.cast.member)
    with time_machine.travel(NOW, tick=False):
        good = client.post("/api/v1/sit-requests/", {**body, "notice_days": 3}, format="json")
        bad = client.post("/api/v1/sit-requests/", {**body, "notice_days": 61}, format="json")
    assert (good.status_code, good.data["notice_days"], bad.status_code) == (201, 3, 400)
