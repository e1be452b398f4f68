"""A calendar of events as iCalendar text (RFC 5545, with RFC 7986): pure, in UTC throughout.

The head is the ``icalendar`` library's. Events are written here, since every telephone reads its
feed every hour; a test holds that the library, given each event as an object, writes the same
bytes.
Events that ended early or were cancelled stay, as CANCELLED, since a client may keep an event
that merely vanishes.
"""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

from icalendar import Calendar

PRODUCT = "-//Deer cooperative//Sits//EN"
REFRESH = timedelta(hours=1)
FOLD_OCTETS = 74
"""Of a line without its end and without the space that a continued line begins with."""
_END = b"END:VCALENDAR\r\n"


class FeedEvent(NamedTuple):
    """One event; ``uid`` never changes, ``sequence`` rises with every change.

    Instants are as :func:`instant` writes them; ``changed_at`` is when its information was last
    revised.
    """

    uid: str
    sequence: int
    starts_at: str
    ends_at: str
    created_at: str
    changed_at: str
    summary: str
    location: str
    description: str
    is_cancelled: bool = False


def calendar_text(*, name: str, events: Iterable[FeedEvent]) -> bytes:
    """The whole feed, UTF-8, as RFC 5545 writes it."""
    head = _empty_calendar(name).to_ical().removesuffix(_END)
    return head + "".join(map(_event, events)).encode() + _END


def _empty_calendar(name: str) -> Calendar:
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("name", name)
    # Older clients read only this one.
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    return calendar


def _event(event: FeedEvent) -> str:
    """The content lines of one event; only texts can be too long for a line."""
    return (
        "BEGIN:VEVENT\r\n"
        f"{folded(f'SUMMARY:{escaped(event.summary)}')}"
        f"DTSTART:{event.starts_at}\r\n"
        f"DTEND:{event.ends_at}\r\n"
        f"DTSTAMP:{event.changed_at}\r\n"
        f"UID:{event.uid}\r\n"
        f"SEQUENCE:{event.sequence}\r\n"
        "CLASS:PRIVATE\r\n"
        f"CREATED:{event.created_at}\r\n"
        f"{folded(f'DESCRIPTION:{escaped(event.description)}')}"
        f"LAST-MODIFIED:{event.changed_at}\r\n"
        f"{folded(f'LOCATION:{escaped(event.location)}')}"
        f"STATUS:{'CANCELLED' if event.is_cancelled else 'CONFIRMED'}\r\n"
        f"TRANSP:{'TRANSPARENT' if event.is_cancelled else 'OPAQUE'}\r\n"
        "END:VEVENT\r\n"
    )


def instant(at: datetime) -> str:
    """RFC 5545 section 3.3.5, form 2: UTC, to the second; ``at`` is aware."""
    return f"{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def escaped(text: str) -> str:
    """RFC 5545 section 3.3.11: backslash, semicolon, comma and new line within a text."""
    if "\\" in text or "\r" in text:
        text = text.replace("\\N", "\n").replace("\r\n", "\n").replace("\r", "\n")
        text = text.replace("\\", "\\\\")
    return text.replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def folded(line: str) -> str:
    """RFC 5545 section 3.1: no line of more than 75 octets, and none that cuts a character.

    Nor an escape, which some readers do not mend.
    """
    if len(line) <= FOLD_OCTETS and line.isascii():
        return line + "\r\n"
    parts, begin = [], 0
    while (end := _end_of_part(line, begin)) < len(line):
        end -= line[end - 1] in "\\^"
        parts.append(line[begin:end])
        begin = end
    return "\r\n ".join([*parts, line[begin:]]) + "\r\n"


def _end_of_part(line: str, begin: int) -> int:
    end = begin + FOLD_OCTETS
    if line.isascii():
        return end
    while len(line[begin:end].encode()) > FOLD_OCTETS:
        end -= 1
    return end
