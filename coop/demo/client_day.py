"""A day on which an outfitter's application finds something for its clients."""

from datetime import date

from coop.demo import people
from coop.demo.build import Built
from coop.demo.scenario import Calendar
from properties.sessions.kinds import SessionKind
from scheduling.offers.offers import offers

SHARED_FIRST = people.RIDGE
"""The property that an application's list names first."""
DAYS_AHEAD = 7


def first_day_offered(built: Built, calendar: Calendar) -> date | None:
    """The first of the coming days with a stand offered to clients; None where there is none."""
    found = offers(
        lands=[built.lands[SHARED_FIRST]],
        first_on=calendar.day(1),
        last_on=calendar.day(DAYS_AHEAD),
        kinds=tuple(SessionKind),
        person_id=None,
        weapon=None,
        now=calendar.now,
    )
    days = (
        there.session.local_date
        for there in found.sessions
        if any(offer.offered for offer in there.offers)
    )
    return min(days, default=None)
