"""The letter after a plan is published: what changes, what stays, in order of time."""

from datetime import date, timedelta

import pytest

from coop.outbox.models import Message
from scheduling.rotation import services
from scheduling.rotation.plan_letters import News
from scheduling.sits.life_services import cancel_sit
from scheduling.sits.models import SitRequest
from tests.cast import NOW
from tests.scheduling.sits.stage import DAY, booked, make_stage

FIRST, LAST = date(2025, 11, 5), date(2025, 11, 12)


@pytest.fixture
def stage(cast):
    return make_stage(cast)


def draft(stage):
    return services.recompute_rotation(
        actor=stage.cast.actor(stage.cast.coordinator),
        lands=[stage.cast.north],
        first_on=FIRST,
        last_on=LAST,
        now=NOW,
    )


def publish(stage):
    actor = stage.cast.actor(stage.cast.coordinator)
    return services.publish_plan(actor=actor, plan=draft(stage), now=NOW)


def wish(stage, day, wanted_sits=1):
    return SitRequest.objects.create(
        property=stage.cast.north,
        person=stage.cast.member,
        first_on=day,
        last_on=day,
        wanted_sits=wanted_sits,
        kinds=["evening"],
    )


def letter(stage) -> Message:
    return Message.objects.filter(recipient=stage.cast.member.email).latest("created_at")


def lines_of(text: str, heading: str) -> list[str]:
    """The dated beginnings of the lines under a heading, as they stand."""
    _before, _, after = text.partition(f"{heading}\n\n")
    return [line.split(":")[0] for line in after.split("\n\n")[0].splitlines()]


def test_the_letter_is_titled_as_changes_and_lists_what_stays_by_plan_and_by_booking(stage):
    booked(stage, stand=stage.creek, day=DAY + timedelta(days=2))
    # What is booked counts among the sits asked for.
    wish(stage, FIRST, wanted_sits=2)
    publish(stage)
    wish(stage, DAY + timedelta(days=1))

    placed = publish(stage).placed

    told = letter(stage)
    assert (placed.kept, placed.added, placed.moved, placed.withdrawn) == (1, 1, 0, 0)
    assert told.subject == "Changes to your sits from 05 Nov to 12 Nov"
    assert lines_of(told.text, "These change:") == ["- Sun 09 Nov, evening"]
    assert lines_of(told.text, "These stay as they are:") == [
        "- Wed 05 Nov, evening",
        "- Mon 10 Nov, evening",
    ]
    assert "- Mon 10 Nov, evening: Creek on North." in told.text


def test_where_every_sit_changes_nothing_is_said_to_stay(stage):
    wish(stage, DAY)
    publish(stage)
    assert "These stay" not in letter(stage).text


def test_what_has_ended_or_lies_outside_the_plans_days_is_not_said_to_stay(stage):
    gone = booked(stage, stand=stage.creek, day=DAY + timedelta(days=1))
    cancel_sit(actor=stage.cast.actor(stage.cast.member), sit=gone, reason="", now=NOW)
    booked(stage, stand=stage.creek, day=LAST + timedelta(days=1))
    booked(stage, stage.ben, stage.creek, day=DAY + timedelta(days=2))
    wish(stage, DAY)
    publish(stage)
    assert "These stay" not in letter(stage).text


def test_lines_stand_in_order_of_time_and_not_of_the_alphabet(stage):
    plan, news = draft(stage), News()
    evening = booked(stage, day=date(2025, 11, 12), span="evening")
    morning = booked(stage, day=date(2025, 11, 10), span="morning", stand=stage.creek)
    whole = booked(stage, day=date(2025, 11, 6), span="all_day")
    # A day holds one sit of a member by default; the letter reads the sits that it is given.
    morning.local_date = evening.local_date
    for sit in (evening, morning, whole):
        news.add(sit, f"{sit.stand.name}.")
    news.tell(plan, now=NOW)
    assert lines_of(letter(stage).text, "These change:") == [
        "- Thu 06 Nov, all day",
        "- Wed 12 Nov, morning",
        "- Wed 12 Nov, evening",
    ]


def test_of_one_session_what_is_withdrawn_stands_before_what_comes_instead(stage):
    plan, news, sit = draft(stage), News(), booked(stage)
    news.add(sit, "Oak is withdrawn.")
    news.add(sit, "Creek on North.")
    news.tell(plan, now=NOW)
    text = letter(stage).text
    assert text.index("Oak is withdrawn.") < text.index("Creek on North.")
