"""The demo's member has a seat to check in to, whatever the hour at which the demo is laid out."""

from datetime import timedelta

import pytest

from coop.access.actors import person_actor
from coop.demo.next_seat import WHERE, next_session, take_next_seat
from coop.demo.run import Demo
from coop.demo.scenario import Calendar
from scheduling.sits.life_services import check_in, check_out

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("hour", [1, 7, 12, 16, 23])
def test_the_seat_is_in_the_session_that_is_now_or_next(demo: Demo, hour: int) -> None:
    calendar = Calendar(today=demo.calendar.today, now=demo.calendar.at(0, hour))
    land = demo.cooperative.lands[WHERE]

    sit = take_next_seat(demo.cooperative, calendar)

    assert sit is not None
    key, window = next_session(land, calendar)
    assert (sit.local_date, sit.span) == (key.local_date, key.kind)
    assert sit.ends_at > calendar.now
    assert sit.starts_at == window.approach_from
    assert take_next_seat(demo.cooperative, calendar) == sit


def test_the_member_checks_in_and_out_once_check_in_is_open(demo: Demo) -> None:
    sit = take_next_seat(demo.cooperative, demo.calendar)
    assert sit is not None
    user = sit.person.user
    assert user is not None
    actor = person_actor(user.id, user.name)

    opened = sit.starts_at - timedelta(hours=3)
    there = check_in(actor=actor, sit=sit, now=opened)
    back = check_out(actor=actor, sit=there, now=sit.ends_at)

    assert (there.checked_in_at, back.state) == (opened, "checked_out")
