"""Who is on a property now, and who comes today: full names and vehicles, never a number."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q

from coop.printing.privacy import withheld
from properties.land.local_dates import local_date_on
from properties.land.models import Closure, Property
from scheduling.sits.models import Sit, SitSpan, SitState
from scheduling.sits.queries import standing_of, vehicle_for, vehicle_of
from scheduling.tracking.models import Tracker

TRACKING = "tracking"
LATELY = timedelta(days=2)
GONE = (SitState.CANCELLED, SitState.MISSED)


@dataclass(frozen=True, kw_only=True)
class PersonToday:
    """One person of today's roster, under the name that the landowner knows.

    ``is_there`` counts whoever checked in and did not check out, and whoever tracks a deer on
    foot and did not leave; ``gone_by`` is their own later word. ``is_late`` : not checked out
    at the end, not back by their word, or not checked in since the start. Who tracks without
    being checked in has the state ``tracking``, no stand and no span.
    """

    name: str
    standing: str
    through: str
    vehicle: str
    stand: str
    span: str
    comes_at: datetime
    gone_by: datetime
    state: str
    came_at: datetime | None
    left_at: datetime | None
    is_there: bool
    is_late: bool
    is_tracking: bool


@dataclass(frozen=True, kw_only=True)
class ClosedToday:
    reason: str
    until: date
    is_part: bool
    session_kind: str


@dataclass(frozen=True, kw_only=True)
class LandToday:
    """A property's day as it stands at ``asked_at``; ``on`` is its local date."""

    property_id: str
    property_name: str
    cooperative_name: str
    time_zone: str
    on: date
    asked_at: datetime
    there_now: tuple[PersonToday, ...]
    roster: tuple[PersonToday, ...]
    closed: tuple[ClosedToday, ...]

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)


def land_today(*, land: Property, now: datetime) -> LandToday:
    """Everybody with a sit today, and whoever is out now: since the day before, or tracking."""
    zone = ZoneInfo(land.time_zone)
    today = local_date_on(land, now)
    trackers = _trackers(land, now)
    coming = _sits(land).filter(local_date=today).exclude(state__in=GONE)
    seated = list(_sits(land).filter(state=SitState.CHECKED_IN))
    seated_ids = {sit.person_id for sit in seated}
    on_foot = [each for each in _each_once(trackers) if each.person_id not in seated_ids]
    return LandToday(
        property_id=str(land.id),
        property_name=land.name,
        cooperative_name=land.cooperative.name,
        time_zone=land.time_zone,
        on=today,
        asked_at=now.replace(microsecond=0),
        there_now=(*_people(seated, trackers, zone, now), *_on_foot(on_foot, zone, now)),
        roster=tuple(_people(coming, trackers, zone, now)),
        closed=tuple(_closed(land, today)),
    )


def _sits(land: Property) -> Any:
    rows = Sit.objects.filter(property=land)
    return rows.select_related("stand", "person", "host", "outfitter").order_by(
        "starts_at", "stand__name", "id"
    )


def _trackers(land: Property, now: datetime) -> list[Tracker]:
    """Who tracks a deer there now, and who did of late: their words moved ends of sits."""
    recent = Q(left_at=None) | Q(left_at__gt=now - LATELY)
    rows = Tracker.objects.filter(recent, tracking__property=land).select_related(
        "person__host", "tracking__sit__host", "tracking__sit__outfitter"
    )
    return list(rows.order_by("joined_at", "id"))


def _each_once(trackers: Iterable[Tracker]) -> list[Tracker]:
    """Those who are out, each once although they look for two deer: by their latest word."""
    out = sorted((each for each in trackers if each.left_at is None), key=lambda one: one.back_by)
    latest = {each.person_id or each.id: each for each in out}
    return list(latest.values())


def _people(
    sits: Iterable[Sit], trackers: Sequence[Tracker], zone: ZoneInfo, now: datetime
) -> Iterable[PersonToday]:
    for sit in sits:
        is_there = sit.state == SitState.CHECKED_IN
        on_foot = [
            each for each in trackers if each.left_at is None and each.person_id == sit.person_id
        ]
        gone_by = _gone_by(sit, trackers)
        waited_for = sit.state == SitState.BOOKED and sit.starts_at < now
        yield PersonToday(
            name=sit.person.name,
            **standing_of(sit),
            vehicle=vehicle_of(sit),
            stand=sit.stand.name,
            span=SitSpan(sit.span).value,
            comes_at=sit.starts_at.astimezone(zone),
            gone_by=gone_by.astimezone(zone),
            state=SitState(sit.state).value,
            came_at=sit.checked_in_at and sit.checked_in_at.astimezone(zone),
            left_at=sit.checked_out_at and sit.checked_out_at.astimezone(zone),
            is_there=is_there,
            is_late=waited_for or (is_there and gone_by < now),
            is_tracking=bool(on_foot),
        )


def _gone_by(sit: Sit, trackers: Sequence[Tracker]) -> datetime:
    """The sit's end, or a later word that still holds: a tracker's who left holds no more.

    Joining a tracking moves the sit's own time, and that of the hunter's guests with it.
    """
    own = [each for each in trackers if each.person_id in (sit.person_id, sit.host_id)]
    own = [each for each in own if each.person_id is not None]
    kept = [each.back_by for each in own if each.left_at is None]
    ended = {each.back_by for each in own if each.left_at is not None}
    if sit.back_by is not None and sit.back_by not in ended:
        kept.append(sit.back_by)
    return max([sit.ends_at, *kept])


def _on_foot(trackers: Iterable[Tracker], zone: ZoneInfo, now: datetime) -> Iterable[PersonToday]:
    for each in trackers:
        person = each.person
        yield PersonToday(
            name=person.name if person is not None else withheld(each.name),
            **_standing_on_foot(each),
            vehicle=vehicle_for(person, host=person.host) if person is not None else "",
            stand="",
            span="",
            comes_at=each.joined_at.astimezone(zone),
            gone_by=each.back_by.astimezone(zone),
            state=TRACKING,
            came_at=each.joined_at.astimezone(zone),
            left_at=None,
            is_there=True,
            is_late=each.back_by < now,
            is_tracking=True,
        )


def _standing_on_foot(tracker: Tracker) -> dict[str, str]:
    """As :func:`standing_of` a sit; whoever is entered by name alone is from outside."""
    person, sit = tracker.person, tracker.tracking.sit
    if person is None:
        return {"standing": "outsider", "through": ""}
    if person.id == sit.person_id:
        return standing_of(sit)
    if person.host is not None:
        return {"standing": "guest", "through": person.host.name}
    return {"standing": "member", "through": ""}


def _closed(land: Property, today: date) -> Iterable[ClosedToday]:
    rows = Closure.objects.filter(
        property=land, lifted_at=None, first_on__lte=today, last_on__gte=today
    )
    for row in rows.order_by("first_on", "id"):
        yield ClosedToday(
            reason=withheld(row.reason),
            until=row.last_on,
            is_part=row.part is not None,
            session_kind=row.session_kind,
        )
