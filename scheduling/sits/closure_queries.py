"""Closures of ground as the house rules see them: of whole properties, and of their parts."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date
from uuid import UUID
from zoneinfo import ZoneInfo

from properties.land import models as land_models
from properties.land.models import Property
from properties.sessions.kinds import SessionKind
from properties.sessions.local_time import local_day
from properties.stands.closed_ground import stands_reached
from properties.stands.models import Stand
from scheduling.rules.facts import Closure


def whole_closures(
    lands: Sequence[Property], rows: Iterable[land_models.Closure]
) -> Mapping[UUID, list[Closure]]:
    """Closures of whole properties, by property; those of parts are left out."""
    zones = {land.id: ZoneInfo(land.time_zone) for land in lands}
    found: dict[UUID, list[Closure]] = defaultdict(list)
    for row in rows:
        if row.part is None:
            found[row.property_id].append(_closure(row, zones[row.property_id]))
    return found


def part_closures(
    lands: Mapping[UUID, Property], stands: Sequence[Stand], rows: Iterable[land_models.Closure]
) -> Mapping[UUID, list[Closure]]:
    """Closures of parts by the stands that lie in them, or whose way does."""
    found: dict[UUID, list[Closure]] = defaultdict(list)
    for row in rows:
        if row.part is not None:
            land = lands[row.property_id]
            closure = _closure(row, ZoneInfo(land.time_zone))
            for stand_id in stands_reached(row, land=land, stands=stands):
                found[stand_id].append(closure)
    return found


def closures_in(
    property_ids: Collection[UUID], first_on: date, last_on: date
) -> list[land_models.Closure]:
    """Closures in force that touch the local dates, both included."""
    rows = land_models.Closure.objects.filter(
        property__in=property_ids, lifted_at=None, first_on__lte=last_on, last_on__gte=first_on
    )
    return list(rows.order_by("first_on", "id"))


def _closure(row: land_models.Closure, zone: ZoneInfo) -> Closure:
    return Closure(
        starts_at=local_day(row.first_on, zone)[0].astimezone(zone),
        ends_at=local_day(row.last_on, zone)[1].astimezone(zone),
        reason=row.reason,
        session_kind=SessionKind(row.session_kind) if row.session_kind else None,
    )
