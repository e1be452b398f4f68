"""Who is on a property now, and who comes today: full names and vehicles, never a number."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from coop.printing.privacy import withheld
from properties.land.models import Closure, Property
from scheduling.sits.models import Sit, SitSpan, SitState
from scheduling.sits.queries import standing_of, vehicle_of

GONE = (SitState.CANCELLED, SitState.MISSED)


@dataclass(frozen=True, kw_only=True)
class PersonToday:
    """One person of today's roster, under the name that the landowner knows.

    ``is_there`` counts whoever checked in and did not check out; ``back_by`` is their own
    later word. ``is_late`` : not checked out at the end, or not checked in since the start.
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
    """Everybody with a sit today, and whoever is still out from the day before."""
    zone = ZoneInfo(land.time_zone)
    today = now.astimezone(zone).date()
    roster = tuple(_people(_sits(land).filter(local_date=today).exclude(state__in=GONE), zone, now))
    out = _sits(land).filter(state=SitState.CHECKED_IN)
    return LandToday(
        property_id=str(land.id),
        property_name=land.name,
        cooperative_name=land.cooperative.name,
        time_zone=land.time_zone,
        on=today,
        asked_at=now.astimezone(zone),
        there_now=tuple(_people(out, zone, now)),
        roster=roster,
        closed=tuple(_closed(land, today)),
    )


def _sits(land: Property) -> Any:
    rows = Sit.objects.filter(property=land)
    return rows.select_related("stand", "person", "host", "outfitter").order_by(
        "starts_at", "stand__name", "id"
    )


def _people(sits: Iterable[Sit], zone: ZoneInfo, now: datetime) -> Iterable[PersonToday]:
    for sit in sits:
        is_there = sit.state == SitState.CHECKED_IN
        gone_by = max(sit.ends_at, sit.back_by or sit.ends_at)
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
        )


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
