"""The first coming session in which a member of the demo is offered a stand."""

from datetime import timedelta

from coop.demo.scenario import Calendar
from properties.land.models import Property
from properties.people.models import Person
from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.offers.offers import offers

DAYS_AHEAD = 6


def next_offer(land: Property, person: Person, calendar: Calendar) -> SessionKey | None:
    """None where nothing is offered in the days ahead; asked as the member asks the API."""
    found = offers(
        lands=[land],
        first_on=calendar.today,
        last_on=calendar.today + timedelta(days=DAYS_AHEAD),
        kinds=tuple(SessionKind),
        person_id=person.id,
        weapon=None,
        now=calendar.now,
    )
    keys = (one.session for one in found.sessions if any(stand.offered for stand in one.offers))
    return min(keys, default=None)
