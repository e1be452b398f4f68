"""As a lease's dates come near letters go out, once each; past its term the ground closes."""

from datetime import UTC, date, datetime, timedelta

import pytest

from coop.access.actors import system_actor
from coop.outbox.models import Fact, Message
from properties.land.models import Closure
from properties.leases import jobs
from properties.leases.services import change_lease, withdraw_lease
from properties.leases.term_services import announce, close_after_term
from tests.cast import NOW
from tests.properties.leases.plots import leased

ACTOR = system_actor("test")


def local_noon(day):
    return datetime(day.year, day.month, day.day, 18, tzinfo=UTC)


def announced(cast, on):
    announce(actor=ACTOR, land=cast.north, now=local_noon(on))
    return sorted(Message.objects.values_list("recipient", flat=True))


def test_the_end_of_a_term_is_told_to_keepers_and_landowner_once(cast):
    lease = leased(cast)
    before, on = lease.last_on - timedelta(days=91), lease.last_on - timedelta(days=90)

    assert announced(cast, before) == []
    first = announced(cast, on)
    again = announced(cast, on + timedelta(days=1))

    people = (cast.manager, cast.coordinator, cast.landowner)
    assert first == sorted(person.email for person in people)
    assert again == first
    assert "31 July 2026" in Message.objects.first().text


def test_a_term_that_another_lease_follows_is_not_announced(cast):
    lease = leased(cast)
    leased(cast, first_on=date(2026, 8, 1), last_on=date(2027, 7, 31))

    assert announced(cast, lease.last_on) == []


def test_a_lease_that_begins_a_day_later_does_not_follow(cast):
    lease = leased(cast)
    leased(cast, first_on=date(2026, 8, 2), last_on=date(2027, 7, 31))

    assert len(announced(cast, lease.last_on)) == 3


def test_notice_and_insurance_are_told_to_the_keepers_alone(cast):
    leased(cast, renewal_notice_on=date(2026, 3, 1), insured_until=date(2026, 3, 1))

    assert announced(cast, date(2026, 1, 29)) == []
    told = announced(cast, date(2026, 1, 30))

    assert told == sorted([cast.manager.email, cast.coordinator.email] * 2)


def test_a_new_date_of_insurance_is_announced_anew_and_one_that_has_passed_still_is(cast):
    lease = leased(cast, insured_until=date(2025, 12, 31))
    assert len(announced(cast, date(2026, 1, 10))) == 2
    change_lease(
        actor=cast.actor(cast.manager),
        lease=lease,
        changes={"insured_until": date(2026, 6, 30)},
        now=NOW,
    )

    assert len(announced(cast, date(2026, 2, 1))) == 2
    # Two of the first date, two of the new one, and three of the term's end.
    assert len(announced(cast, date(2026, 6, 1))) == 7


def test_the_days_ahead_are_a_setting(cast):
    lease = leased(cast)
    cast.north.settings = {"leases": {"announce_end_days": 10}}
    cast.north.save()

    assert announced(cast, lease.last_on - timedelta(days=11)) == []
    assert announced(cast, lease.last_on - timedelta(days=10)) != []


def close(cast, on):
    return close_after_term(actor=ACTOR, land=cast.north, now=local_noon(on))


def test_the_property_closes_the_day_after_the_term_and_not_on_its_last_day(cast):
    lease = leased(cast)

    assert close(cast, lease.last_on) is None
    closure = close(cast, lease.last_on + timedelta(days=1))

    assert closure.first_on == date(2026, 8, 1)
    assert "31 Jul 2026" in closure.reason
    assert Fact.objects.filter(topic="property.closed").count() == 1
    assert cast.landowner.email in set(Message.objects.values_list("recipient", flat=True))
    assert close(cast, lease.last_on + timedelta(days=2)) is None


def test_the_day_is_the_propertys_own(cast):
    leased(cast)
    still_july_there = datetime(2026, 8, 1, 4, 59, tzinfo=UTC)

    assert close_after_term(actor=ACTOR, land=cast.north, now=still_july_there) is None
    assert close_after_term(
        actor=ACTOR, land=cast.north, now=still_july_there + timedelta(minutes=1)
    )


def test_a_following_lease_keeps_the_property_open_and_a_later_one_ends_the_closure(cast):
    leased(cast)
    leased(cast, first_on=date(2026, 8, 11), last_on=date(2027, 7, 31))

    closure = close(cast, date(2026, 8, 1))

    assert (closure.first_on, closure.last_on) == (date(2026, 8, 1), date(2026, 8, 10))
    assert close(cast, date(2026, 8, 11)) is None


def test_a_property_without_a_lease_is_never_closed(cast):
    assert close(cast, date(2026, 8, 1)) is None
    assert list(jobs.closings_due(NOW)) == []


def test_a_lease_entered_late_opens_the_ground_again(cast):
    leased(cast)
    closure = close(cast, date(2026, 8, 3))

    leased(cast, first_on=date(2026, 8, 4), last_on=date(2027, 7, 31))

    closure.refresh_from_db()
    assert closure.lifted_at is not None
    assert Fact.objects.filter(topic="property.opened").count() == 1
    assert close(cast, date(2026, 8, 4)) is None


def test_a_term_made_longer_opens_the_ground_again(cast):
    lease = leased(cast)
    closure = close(cast, date(2026, 8, 3))
    lease.refresh_from_db()

    change_lease(
        actor=cast.actor(cast.manager),
        lease=lease,
        changes={"last_on": date(2026, 12, 31)},
        now=NOW,
    )

    closure.refresh_from_db()
    assert closure.lifted_at is not None
    assert close(cast, date(2027, 1, 1)).first_on == date(2027, 1, 1)


def test_a_withdrawn_lease_takes_its_closure_along(cast):
    lease = leased(cast)
    close(cast, date(2026, 8, 3))

    withdraw_lease(actor=cast.actor(cast.manager), lease=lease, reason="Wrong property", now=NOW)

    assert Closure.objects.get().lifted_at is not None
    assert close(cast, date(2026, 8, 4)) is None


@pytest.mark.parametrize(("hour_utc", "due"), [(13, 0), (14, 1)])
def test_announcements_wait_for_the_hour_of_the_propertys_day(cast, hour_utc, due):
    leased(cast)
    # Chicago is six hours behind in winter: 8 o'clock there is 14:00 UTC.
    now = datetime(2026, 1, 5, hour_utc, tzinfo=UTC)

    found = list(jobs.announcements_due(now))

    assert len(found) == due
    assert len(list(jobs.closings_due(now))) == 1
