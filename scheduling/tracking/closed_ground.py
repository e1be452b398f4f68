"""Closed ground as trackers meet it: nobody is kept from a hit deer, everybody is told.

Of a closed part all of the property's trackers are told: nobody knows where a deer goes. Where
only mornings or evenings are closed, hours before local noon count as morning, the others as
evening.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Prefetch, Q

from coop.outbox.models import Message
from properties.land.closure_words import GROUND_CLOSED, PART_CLOSED, closed_sentence
from properties.land.models import Closure, Property
from properties.sessions.local_time import local_date_of, local_day
from scheduling.sits.closure_models import ClosedSit
from scheduling.tracking import notices
from scheduling.tracking.models import Tracker

ASK_FIRST = (
    "A hit deer must be looked for all the same: ask the landowner first, before anybody goes in."
)
_HALF_A_SESSION = timedelta(hours=6)
_NOON = 12


def standing_closures(path: str) -> "Prefetch[str]":
    """What to prefetch so that :func:`closed_words` asks once for many rows of a list."""
    rows = Closure.objects.filter(lifted_at=None).order_by("first_on", "id")
    return Prefetch(path, queryset=rows)


def closed_words(land: Property, *, now: datetime, until: datetime | None = None) -> list[str]:
    """A sentence for each closure from now to the end of the local day, or ``until`` if later.

    The last sentence says to ask the landowner first; nothing is said where all is open.
    """
    zone = ZoneInfo(land.time_zone)
    today = local_date_of(now, zone)
    day_ends_at = local_day(today, zone)[1] - timedelta(seconds=1)
    ends_at = max(day_ends_at, until or day_ends_at)
    told = [
        _sentence(row, today)
        for row in sorted(land.closures.all(), key=lambda row: (row.first_on, row.id))
        if row.lifted_at is None and _closes(row, now, ends_at, zone)
    ]
    return [*told, ASK_FIRST] if told else []


def ground_closed(ids: Mapping[str, str], now: datetime) -> None:
    """``property.closed``: who is on foot there meanwhile is told to leave, unless it was lifted.

    Where it is closed only later, before they said to be back, they are told to be off it then.
    May run late or twice: each letter is written once for a closure and a tracker.
    """
    closure = (
        Closure.objects.filter(id=ids["closure"], lifted_at=None).select_related("property").first()
    )
    if closure is None:
        return
    zone = ZoneInfo(closure.property.time_zone)
    closed = _sentence(closure, local_date_of(now, zone))
    is_now = _closes(closure, now, now, zone)
    for tracker in _out_on(closure.property):
        if is_now or _closes(closure, now, max(now, tracker.back_by), zone):
            notices.tell_closed(tracker, closure=closure, closed=closed, is_now=is_now, now=now)


def told_beside(closure: Closure, acted_at: datetime) -> list[str]:
    """How the keys of the letters begin, for each who was on foot when a closure was acted on.

    Whoever was told at a stand is left out, so that nobody counts twice. Where the ground closed
    only later, the letter shows who was told: what they say of their return may have changed.
    """
    zone = ZoneInfo(closure.property.time_zone)
    out = Q(left_at=None) | Q(left_at__gt=acted_at)
    rows = Tracker.objects.filter(
        out, tracking__property=closure.property_id, joined_at__lte=acted_at
    )
    seated = ClosedSit.objects.filter(closure=closure, was_out=True).values("sit__person")
    trackers = rows.exclude(person__in=seated).order_by("joined_at", "id")
    keys = [notices.closed_key(tracker, closure) for tracker in trackers]
    if _closes(closure, acted_at, acted_at, zone):
        return keys
    return [key for key in keys if Message.objects.filter(once_key__startswith=f"{key}:").exists()]


def _out_on(land: Property) -> Iterable[Tracker]:
    rows = Tracker.objects.filter(tracking__property=land, left_at=None)
    return rows.select_related("person__host", "tracking__hunter", "tracking__property").order_by(
        "joined_at", "id"
    )


def _sentence(row: Closure, today: date) -> str:
    return closed_sentence(
        GROUND_CLOSED if row.part is None else PART_CLOSED,
        first_on=row.first_on,
        last_on=row.last_on,
        session_kind=row.session_kind,
        reason=row.reason,
        today=today,
    )


def _closes(row: Closure, starts_at: datetime, ends_at: datetime, zone: ZoneInfo) -> bool:
    for at in _instants(starts_at, ends_at):
        local = at.astimezone(zone)
        session = "morning" if local.hour < _NOON else "evening"
        if row.first_on <= local.date() <= row.last_on and row.session_kind in ("", session):
            return True
    return False


def _instants(starts_at: datetime, ends_at: datetime) -> Iterator[datetime]:
    """So close that no morning or evening between the two is left out."""
    at = starts_at
    while at < ends_at:
        yield at
        at += _HALF_A_SESSION
    yield ends_at
