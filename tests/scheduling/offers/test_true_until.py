"""Time alone changes no answer before the instant that is told; and time enters nowhere else."""

import ast
import re
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings

from coop.access.actors import system_actor
from properties.land.services import change_property
from properties.sessions.kinds import SessionKind
from scheduling.offers.offers import offers
from scheduling.offers.true_until import LONGEST
from scheduling.rules.settings import HouseRuleSettings
from scheduling.sits.life_services import cancel_sit
from scheduling.sits.models import Sit
from scheduling.sits.waiting_models import WaitingEntry
from scheduling.sits.waiting_services import wait_for_seat
from tests.cast import NOW, make_member
from tests.scheduling.offers.asking import anew, ask, is_judged
from tests.scheduling.sits.stage import DAY, booked, sat

TINY = timedelta(microseconds=1)


def judged(stage, *, at, person=None, first=DAY, last=DAY):
    return offers(
        lands=[stage.cast.north],
        first_on=first,
        last_on=last,
        kinds=tuple(SessionKind),
        person_id=(person or stage.ben).id,
        weapon=None,
        now=at,
    )


def said(found):
    """What is said of each stand, to the letter."""
    return [
        (
            one.session,
            [(offer.stand.name, offer.free_seats, offer.refusals) for offer in one.offers],
        )
        for one in found.sessions
    ]


def evening(stage):
    found = judged(stage, at=NOW)
    return next(one.window for one in found.sessions if one.session.kind is SessionKind.EVENING)


def midnight(stage):
    """Chicago's, on the day a week before: DAY comes into a window of seven days."""
    change_property(
        actor=system_actor("t"),
        land=stage.cast.north,
        changes={"settings": {"house_rules": {"book_ahead_days": 6}}},
        now=NOW,
    )
    return NOW.replace(day=2, hour=5)


def end_of_booking(stage):
    return evening(stage).approach_from - timedelta(minutes=30) + TINY


def end_of_the_session(stage):
    return evening(stage).exit_until


def end_of_a_held_seat(stage):
    sit = booked(stage, stand=stage.creek)
    cal = make_member(stage.cast.cooperative, "Cal Third", stage.cast.north)
    entry = wait_for_seat(
        actor=stage.cast.actor(cal),
        land=stage.cast.north,
        stand=stage.creek,
        local_date=DAY,
        span="evening",
        person=cal,
        now=NOW,
    )
    cancel_sit(actor=stage.cast.actor(stage.cast.member), sit=sit, reason="", now=NOW)
    answer_by = NOW + timedelta(minutes=47)
    WaitingEntry.objects.filter(id=entry.id).update(
        state="offered", offered_stand=stage.creek, answer_by=answer_by
    )
    return answer_by


def a_report_falls_due(stage):
    sit = sat(stage, booked(stage, stage.ben))
    ended_at = NOW - timedelta(hours=47)
    Sit.objects.filter(id=sit.id).update(
        starts_at=ended_at - timedelta(hours=4),
        ends_at=ended_at,
        local_date=NOW.date() - timedelta(days=2),
    )
    return NOW + timedelta(hours=1) + TINY


@pytest.mark.parametrize(
    "cause",
    [
        midnight,
        end_of_booking,
        end_of_the_session,
        end_of_a_held_seat,
        a_report_falls_due,
    ],
    ids=lambda cause: cause.__name__,
)
def test_no_answer_is_kept_beyond_an_instant_that_changes_it(stage, cause):
    """Judged a little before, it ends there; just before, it is still what it was."""
    if cause is a_report_falls_due:
        change_property(
            actor=system_actor("t"),
            land=stage.cast.north,
            changes={"settings": {"house_rules": {"missing_reports_allowed": 0}}},
            now=NOW,
        )
    instant = cause(stage)
    before = judged(stage, at=instant - timedelta(minutes=3))
    ends = before.true_until

    assert instant - TINY <= ends <= instant
    assert said(judged(stage, at=ends - TINY)) == said(before)
    assert said(judged(stage, at=instant)) != said(before)


def test_through_three_days_no_answer_changes_before_it_ends(stage):
    """Step from end to end, ten minutes at most, past everything that a few days hold."""
    booked(stage, stage.ben, day=DAY)
    days = {"first": DAY - timedelta(days=1), "last": DAY + timedelta(days=1)}
    now = NOW + timedelta(days=5, hours=23)
    steps, changes = 0, 0
    while now < NOW + timedelta(days=6, hours=13):
        found = judged(stage, at=now, **days)
        assert now < found.true_until <= now + LONGEST
        assert said(judged(stage, at=found.true_until - TINY, **days)) == said(found)
        now = found.true_until
        changes += said(judged(stage, at=now, **days)) != said(found)
        steps += 1
    assert steps > 80
    assert changes >= 3


def test_what_is_kept_is_given_until_then_and_judged_anew_from_then_on(stage, at_now):
    ben = stage.cast.client(stage.ben)
    ask(ben, stage)
    at_now.move_to(NOW + LONGEST - TINY)
    assert not is_judged(ben, stage)
    at_now.move_to(NOW + LONGEST)
    assert is_judged(ben, stage)
    # A clock that was set back gives nothing that was judged in its future.
    at_now.move_to(NOW - TINY)
    assert is_judged(ben, stage)


def test_a_shorter_setting_ends_it_sooner(stage, at_now, settings):
    settings.OFFERS_KEPT_SECONDS = 5
    ben = stage.cast.client(stage.ben)
    ask(ben, stage)
    at_now.move_to(NOW + timedelta(seconds=4.9))
    assert not is_judged(ben, stage)
    at_now.move_to(NOW + timedelta(seconds=5))
    assert is_judged(ben, stage)
    assert ask(ben, stage).content == anew(ben, stage)


def test_a_report_of_a_sit_that_has_not_ended_cannot_fall_due_while_an_answer_is_kept():
    least_h = HouseRuleSettings.__dataclass_fields__["report_due_hours"].metadata["minimum"]

    assert timedelta(hours=least_h) > LONGEST


RULES_THAT_LOOK_AT_NOW = {"booking_window.py", "obligations.py", "snapshot.py"}
QUERIES_THAT_LOOK_AT_NOW = {
    "facts_queries.py": {"sit_facts"},
    "people_queries.py": {"member_facts", "_obligations"},
    "waiting_queries.py": {"held_seats"},
}
"""Each is weighed in ``true_until``; whoever adds one adds its instant there."""


def functions_with_now(path):
    return {
        node.name
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.FunctionDef)
        and any(argument.arg == "now" for argument in (*node.args.args, *node.args.kwonlyargs))
    }


def test_time_enters_the_rules_and_their_facts_in_no_other_place():
    rules = Path(settings.BASE_DIR) / "scheduling" / "rules"
    sits = Path(settings.BASE_DIR) / "scheduling" / "sits"
    looking = {path.name for path in rules.glob("*.py") if re.search(r"\bnow\b", path.read_text())}
    facts_read_by = {
        path.name: functions_with_now(path)
        for path in sits.glob("*_queries.py")
        if path.name in QUERIES_THAT_LOOK_AT_NOW
        or re.search(rf"sits\.{path.stem}\b", (sits / "facts_queries.py").read_text())
        or re.search(rf"sits\.{path.stem}\b", (sits / "ground_queries.py").read_text())
    }

    assert looking == RULES_THAT_LOOK_AT_NOW
    assert {name: found for name, found in facts_read_by.items() if found} == (
        QUERIES_THAT_LOOK_AT_NOW
    )
