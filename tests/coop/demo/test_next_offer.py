"""The line that the demo proposes to its member shows a session in which a stand is offered."""

from datetime import timedelta

import pytest

from coop.demo.next_offer import DAYS_AHEAD, next_offer
from coop.demo.scenario import calendar_of
from properties.sessions.kinds import SessionKey, SessionKind
from properties.wind.models import SessionFit
from scheduling.sits.models import Sit
from tests.scheduling.sits.stage import DAY, Stage, booked, make_stage


@pytest.fixture
def stage(cast) -> Stage:
    return make_stage(cast)


def first_offered(stage: Stage) -> SessionKey | None:
    return next_offer(stage.cast.north, stage.cast.member, calendar_of(DAY))


def test_at_noon_it_is_this_evening_if_a_stand_suits(stage):
    assert first_offered(stage) == SessionKey(DAY, SessionKind.EVENING)


def test_a_session_that_suits_nobody_and_a_day_one_sits_already_are_passed_over(stage):
    SessionFit.objects.filter(local_date=DAY).update(fit=0.1, fits=False, verdict="unfit")
    booked(stage, day=DAY + timedelta(days=1))
    assert Sit.objects.get().person == stage.cast.member

    assert first_offered(stage) == SessionKey(DAY + timedelta(days=2), SessionKind.MORNING)


def test_where_nothing_is_offered_in_the_days_ahead_there_is_none(stage):
    until = DAY + timedelta(days=DAYS_AHEAD)
    SessionFit.objects.filter(local_date__lte=until).update(fit=0.1, fits=False, verdict="unfit")

    assert first_offered(stage) is None
