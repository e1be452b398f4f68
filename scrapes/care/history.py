"""What people did at scrapes, and the rain since: read for a property in a few queries."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from properties.land.models import Property
from properties.wind.models import ObservedHour
from scrapes.care.models import ScentApplication, Substance
from scrapes.care.residue import Residue, rain_between_mm, residue
from scrapes.care.settings import CareSettings
from scrapes.sites.models import ScrapeEvent
from scrapes.visits.scrape_records import ScrapeRecord

_HOUR_S = 3_600


@dataclass(frozen=True, kw_only=True, eq=False)
class Rain:
    """Hourly falls of one source: UTC seconds of each hour's end, millimetres."""

    end_s: NDArray[np.int64]
    rain_mm: NDArray[np.float64]

    @property
    def is_known(self) -> bool:
        return bool(len(self.end_s))


@dataclass(frozen=True, kw_only=True, eq=False)
class CareHistory:
    """Applications by scrape, oldest first; local dates of other work; rain since the first."""

    applications: Mapping[UUID, Sequence[ScentApplication]]
    worked_on: Mapping[UUID, Sequence[date]]
    rain: Rain

    def latest(self, scrape_id: UUID) -> ScentApplication | None:
        """The last scent; feed and minerals refresh no scrape."""
        applied = [row for row in self.applications[scrape_id] if row.substance == Substance.SCENT]
        return applied[-1] if applied else None


def care_history(land: Property, *, since: datetime, now: datetime) -> CareHistory:
    """Applications of ``[since, now]``, events of the same days, and the rain."""
    applications: dict[UUID, list[ScentApplication]] = defaultdict(list)
    for row in ScentApplication.objects.filter(
        scrape__property=land, applied_at__gte=since, applied_at__lte=now
    ).order_by("applied_at", "id"):
        applications[row.scrape_id].append(row)
    worked_on: dict[UUID, list[date]] = defaultdict(list)
    for scrape_id, on in ScrapeEvent.objects.filter(
        scrape__property=land, happened_on__gte=since.date(), happened_on__lte=now.date()
    ).values_list("scrape_id", "happened_on"):
        worked_on[scrape_id].append(on)
    latest = [rows[-1].applied_at for rows in applications.values()]
    rain = _rain(land, min(latest), now) if latest else _no_rain()
    return CareHistory(applications=applications, worked_on=worked_on, rain=rain)


def residue_of(
    application: ScentApplication, rain: Rain, *, now: datetime, settings: CareSettings
) -> Residue:
    """What is left of an application; hours without a reading count as dry."""
    applied_s, now_s = int(application.applied_at.timestamp()), int(now.timestamp())
    fallen = rain_between_mm(rain.end_s, rain.rain_mm, start_s=applied_s, end_s=now_s)
    return residue(applied_s=applied_s, now_s=now_s, rain_mm=fallen, settings=settings)


def days_with_people(
    record: ScrapeRecord, history: CareHistory, *, now: datetime, settings: CareSettings
) -> int:
    """Local dates of the last days on which somebody was at the scrape, however it is known.

    Deer learn from each of them, and rain clears none.
    """
    zone = record.days.zone
    since = now - timedelta(days=settings.people_days)
    instants = [
        *(datetime.fromtimestamp(int(at), zone) for at in record.people_s),
        *(row.applied_at for row in history.applications[record.scrape_id]),
        *(
            datetime.fromtimestamp(at, zone)
            for hanging in record.hangings
            for at in (hanging.start_s, *hanging.pulled_s)
        ),
    ]
    dates = {at.astimezone(zone).date() for at in instants if since <= at <= now}
    first_on = since.astimezone(zone).date()
    return len(dates | {on for on in history.worked_on[record.scrape_id] if on >= first_on})


def _rain(land: Property, since: datetime, now: datetime) -> Rain:
    """Of the source with the most readings; falls of two gauges are not added up."""
    by_source: dict[str, list[tuple[int, float]]] = defaultdict(list)
    for source, starts_at, fallen in ObservedHour.objects.filter(
        property=land,
        starts_at__gte=since - timedelta(hours=1),
        starts_at__lte=now,
        precipitation_mm__gte=0,
    ).values_list("source", "starts_at", "precipitation_mm"):
        if fallen is None:
            continue
        by_source[source].append((int(starts_at.timestamp()) + _HOUR_S, fallen))
    if not by_source:
        return _no_rain()
    _source, hours = max(by_source.items(), key=lambda item: (len(item[1]), item[0]))
    end_s, fallen_mm = zip(*hours, strict=True)
    return Rain(end_s=np.array(end_s, np.int64), rain_mm=np.array(fallen_mm, np.float64))


def _no_rain() -> Rain:
    return Rain(end_s=np.zeros(0, dtype=np.int64), rain_mm=np.zeros(0))
