"""Messages about sits: whom they go to and what they say."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Protocol
from uuid import UUID
from zoneinfo import ZoneInfo

from coop.access.roles import Role
from coop.outbox import services as outbox
from properties.land.models import Closure
from properties.people.models import Person
from properties.people.queries import holders_of
from scheduling.sits.models import Sit, SitSpan

_SPAN_WORDS = {
    SitSpan.MORNING: "the morning",
    SitSpan.EVENING: "the evening",
    SitSpan.ALL_DAY: "the whole day",
}


class InSession(Protocol):
    """What lies in a session: a sit, or a place on the waiting list."""

    local_date: date
    span: str


def session_words(sit: InSession) -> str:
    """The session as letters name it: “the evening of Saturday 08 November 2025”."""
    return f"{_SPAN_WORDS[SitSpan(sit.span)]} of {sit.local_date:%A %d %B %Y}"


def cancelled_key(sit: Sit) -> str:
    """How the keys of the letters begin that tell of a cancelled sit."""
    return f"sit-cancelled:{sit.id}"


def closed_under_key(sit: Sit, closing: str) -> str:
    """How the keys of the letters begin that tell a hunter on a stand of one ``closing`` of it."""
    return f"closed-while-out:{sit.id}:{closing}"


def tell_of_cancelled(sit: Sit, *, reason: str, now: datetime) -> None:
    """Tell whoever holds the seat that it is gone, and why; once for each sit."""
    tell_seat_holder(
        sit,
        once_key=cancelled_key(sit),
        subject=f"Sit cancelled: {sit.stand.name}, {sit.local_date:%d %b %Y}",
        text=(
            f"The sit of {sit.person.name} at {sit.stand.name} on {sit.property.name} in "
            f"{session_words(sit)} has been cancelled.\n\nReason: {reason}\n\n"
            "Please do not go to the stand."
        ),
        now=now,
        # The ground may be closed for logging or burning tonight: it waits for no morning.
        urgent=True,
    )


def tell_of_closed_under_hunter(sit: Sit, *, closing: str, reason: str, now: datetime) -> None:
    """Tell somebody who is checked in that their stand or ground was closed meanwhile.

    Once for each ``closing``: ground that was lifted may be closed again for a graver reason.
    """
    tell_seat_holder(
        sit,
        once_key=closed_under_key(sit, closing),
        subject=f"{sit.stand.name} has been closed while you are there",
        text=(
            f"{sit.stand.name} on {sit.property.name} was closed at "
            f"{now.astimezone(ZoneInfo(sit.property.time_zone)):%H:%M %Z}.\n\nReason: {reason}\n\n"
            "Come down with care and leave. Call your manager, and check out when you are down and "
            "away."
        ),
        now=now,
        urgent=True,
    )


def _days_of(closure: Closure) -> str:
    if closure.first_on == closure.last_on:
        return f"on {closure.first_on:%d %b %Y}"
    return f"from {closure.first_on:%d %b %Y} to {closure.last_on:%d %b %Y}"


def tell_of_opened(closure: Closure, person: Person, *, now: datetime) -> None:
    """Tell somebody whose sit a closure took that it was lifted."""
    tell_person(
        person,
        once_key=f"closure-lifted:{closure.id}",
        subject=f"{closure.property.name} is open again",
        text=(
            f"The closure of {closure.property.name} {_days_of(closure)} ({closure.reason}) has "
            "been lifted.\n\n"
            "The sit that it took from you stays cancelled; if you still want to go, book again."
        ),
        now=now,
    )


def tell_of_booked_by_other(sit: Sit, *, by: str, now: datetime) -> None:
    """Tell whoever holds the seat that somebody else, named ``by``, booked it; once."""
    tell_seat_holder(
        sit,
        once_key=f"sit-booked:{sit.id}",
        subject=f"Sit booked for you: {sit.stand.name}, {sit.local_date:%d %b %Y}",
        text=(
            f"{by} booked {sit.stand.name} on {sit.property.name} for {sit.person.name} in "
            f"{session_words(sit)}."
        ),
        now=now,
    )


def tell_seat_holder(
    sit: Sit, *, once_key: str, subject: str, text: str, now: datetime, urgent: bool = False
) -> None:
    """Write to the person; to the host of a guest; to the outfitter of a client."""
    addresses = [sit.person.email]
    if sit.host is not None:
        addresses.append(sit.host.email)
    if sit.outfitter is not None:
        addresses.append(sit.outfitter.contact_email)
    _write(
        addresses,
        once_key=once_key,
        subject=subject,
        text=text,
        cooperative_id=sit.person.cooperative_id,
        now=now,
        urgent=urgent,
    )


def tell_person(
    person: Person,
    *,
    once_key: str,
    subject: str,
    text: str,
    now: datetime,
    urgent: bool = False,
) -> None:
    """Write to one person, where an address is known."""
    _write(
        [person.email],
        once_key=once_key,
        subject=subject,
        text=text,
        cooperative_id=person.cooperative_id,
        now=now,
        urgent=urgent,
    )


def tell_managers(
    *,
    property_id: UUID,
    cooperative_id: UUID,
    once_key: str,
    subject: str,
    text: str,
    now: datetime,
    also: Iterable[str] = (),
    urgent: bool = False,
) -> None:
    """Write to the managers of a property (its coordinators where it has none), and ``also``."""
    people: Iterable[Person] = list(holders_of(role=Role.MANAGER, property_id=property_id))
    people = people or list(holders_of(role=Role.COORDINATOR, property_id=property_id))
    _write(
        [*(person.email for person in people), *also],
        once_key=once_key,
        subject=subject,
        text=text,
        cooperative_id=cooperative_id,
        now=now,
        urgent=urgent,
    )


def _write(
    addresses: Iterable[str],
    *,
    once_key: str,
    subject: str,
    text: str,
    cooperative_id: UUID,
    now: datetime,
    urgent: bool,
) -> None:
    for address in sorted({address for address in addresses if address}):
        outbox.write_message(
            once_key=f"{once_key}:{address}"[:200],
            recipient=address,
            subject=subject,
            text=text,
            cooperative_id=cooperative_id,
            now=now,
            urgent=urgent,
        )
