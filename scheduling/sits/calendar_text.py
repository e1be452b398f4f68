"""A calendar of events as iCalendar text (RFC 5545, with RFC 7986): pure, in UTC throughout.

Folding, escapes and line ends are the ``icalendar`` library's. Events that ended early or
were cancelled stay, as CANCELLED, since a client may keep an event that merely vanishes.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from icalendar import Calendar, Event

PRODUCT = "-//Deer cooperative//Sits//EN"
REFRESH = timedelta(hours=1)


@dataclass(frozen=True, kw_only=True)
class FeedEvent:
    """One event; ``uid`` never changes, ``sequence`` rises with every change.

    Instants are aware; ``changed_at`` is when its information was last revised.
    """

    uid: str
    sequence: int
    starts_at: datetime
    ends_at: datetime
    created_at: datetime
    changed_at: datetime
    summary: str
    location: str
    description: str
    is_cancelled: bool = False


def calendar_text(*, name: str, events: Iterable[FeedEvent]) -> bytes:
    """The whole feed, UTF-8, as RFC 5545 writes it."""
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("name", name)
    # Older clients read only this one.
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    for event in events:
        calendar.add_component(_event(event))
    return calendar.to_ical()


def _event(event: FeedEvent) -> Event:
    shown = Event()
    shown.add("uid", event.uid)
    shown.add("sequence", event.sequence)
    shown.add("dtstamp", _whole_second(event.changed_at))
    shown.add("created", _whole_second(event.created_at))
    shown.add("last-modified", _whole_second(event.changed_at))
    shown.add("dtstart", _whole_second(event.starts_at))
    shown.add("dtend", _whole_second(event.ends_at))
    shown.add("summary", event.summary)
    shown.add("location", event.location)
    shown.add("description", event.description)
    shown.add("class", "PRIVATE")
    shown.add("status", "CANCELLED" if event.is_cancelled else "CONFIRMED")
    shown.add("transp", "TRANSPARENT" if event.is_cancelled else "OPAQUE")
    return shown


def _whole_second(instant: datetime) -> datetime:
    return instant.astimezone(UTC).replace(microsecond=0)
