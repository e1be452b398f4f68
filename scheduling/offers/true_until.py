"""When time alone may change an answer: no later than this is one kept.

Time enters what is judged in these places and in no others; a test holds the list of them.

- Booking is open from so many days before a local date (``booking_window``): local midnight.
- It ends so many minutes before a session's window opens, and the session ends.
- A seat held for the waiting list is free when the time to answer has passed.
- A report is owed so many hours after its sit ended (``obligations``).
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from properties.land.models import Property
from properties.sessions.local_time import local_date_of, local_day
from properties.sessions.windows import SessionWindow
from scheduling.sits.facts_queries import SitFacts

LONGEST = timedelta(minutes=10)
"""What has no report yet and ends later falls due later still: the setting's least is an hour."""
_NEXT = timedelta(microseconds=1)
"""Of what is over only when its instant has passed."""


def true_until(facts: SitFacts, *, lands: Sequence[Property]) -> datetime:
    """The first instant after the snapshot's at which anything may be another; it is no part.

    At most :data:`LONGEST` after it.
    """
    now = facts.booking.now
    coming = (instant for instant in _instants(facts, lands) if instant > now)
    return min(coming, default=now + LONGEST)


def _instants(facts: SitFacts, lands: Sequence[Property]) -> Iterator[datetime]:
    now = facts.booking.now
    yield now + LONGEST
    for land in lands:
        zone = ZoneInfo(land.time_zone)
        yield local_day(local_date_of(now, zone), zone)[1]
    houses = {id(limits.house): limits.house for limits in facts.limits.values()}.values()
    late = {house.late_booking_minutes for house in houses}
    for window in facts.windows.values():
        if isinstance(window, SessionWindow):
            yield window.exit_until
            ends = (window.approach_from - timedelta(minutes=minutes) for minutes in late)
            yield from (instant + _NEXT for instant in ends)
    for seat in facts.held:
        yield seat.answer_by
    due_hours = {house.report_due_hours for house in houses}
    for member in facts.booking.members:
        for report in member.missing_reports:
            due = (report.ended_at + timedelta(hours=hours) for hours in due_hours)
            yield from (instant + _NEXT for instant in due)
