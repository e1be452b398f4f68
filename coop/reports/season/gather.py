"""Read a cooperative's season; the number of queries depends on no row and no property."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet, Sum

from coop.reports.figures import SettingsUsed
from coop.reports.gather_scrapes import last_sign
from coop.reports.models import LandNote
from coop.reports.released import topic_of
from coop.reports.rows import PRESENT
from coop.reports.season.rows import LandSeason, SatRow, SeasonRows, ShareRow, WatchedRow
from properties.incidents.queries import told_of_properties
from properties.land.models import Closure, Cooperative, Property
from properties.land.years import first_day_of
from properties.people.models import Member
from properties.sessions.local_time import local_date_of, local_day
from properties.stands.models import Inspection
from scheduling.errands.models import Errand, ErrandKind, ErrandState
from scheduling.sits.fairness_queries import asked_by_person, members_sits
from scheduling.sits.harvest_queries import planned_by_class
from scheduling.sits.models import DeerSex, Harvest, HarvestPlan, Sit
from scrapes.care.models import ScentApplication
from scrapes.visits.effort import clipped
from scrapes.visits.rates import poisson_limits
from scrapes.visits.scrape_records import ScrapeRecord, records_of

ByLand = Mapping[UUID, Any]


def gather_season(
    *, cooperative: Cooperative, season_year: int, now: datetime, settings: SettingsUsed
) -> SeasonRows:
    """Everything a season's report needs, as known at ``now``."""
    first_month = settings.sits.season_year_first_month
    first_on = first_day_of(season_year, first_month=first_month)
    last_on = first_day_of(season_year + 1, first_month=first_month) - timedelta(days=1)
    lands = list(Property.objects.filter(cooperative=cooperative).order_by("name", "id"))
    for land in lands:
        land.cooperative = cooperative
    zones = {land.id: ZoneInfo(land.time_zone) for land in lands}
    starts_at = min((local_day(first_on, zone)[0] for zone in zones.values()), default=now)
    ends_at = max((local_day(last_on, zone)[1] for zone in zones.values()), default=now)
    sits = _sits(lands, first_on, last_on)
    taken = _taken(zones, starts_at, ends_at, first_on, last_on)
    plans = _plans(lands, season_year)
    notes = _notes(lands, first_on, last_on)
    work = _work(zones, starts_at, ends_at, first_on, last_on)
    closed = _closed_days(zones, first_on, last_on, now)
    watched = _watched(lands, first_on, last_on, ends_at, now, settings)
    return SeasonRows(
        cooperative_name=cooperative.name,
        season_year=season_year,
        first_on=first_on,
        last_on=last_on,
        time_zones=tuple(sorted({land.time_zone for land in lands})),
        starts_at=starts_at,
        ends_at=ends_at,
        now=now,
        lands=tuple(
            LandSeason(
                name=land.name,
                sits=tuple(sits[land.id]),
                taken=tuple(taken[land.id]),
                plan=plans[land.id],
                closed_days=closed[land.id],
                notes=notes[land.id],
                work=work[land.id],
                watched=watched[land.id],
            )
            for land in lands
            # A lease that ended stays in the seasons in which something happened there.
            if land.retired_at is None or sits[land.id] or taken[land.id]
        ),
        shares=_shares(lands, first_on, last_on),
    )


def _sits(lands: Sequence[Property], first_on: date, last_on: date) -> dict[UUID, list[SatRow]]:
    found: dict[UUID, list[SatRow]] = defaultdict(list)
    rows = (
        Sit.objects.filter(
            property__in=lands, local_date__range=(first_on, last_on), state__in=PRESENT
        )
        .annotate(
            deer=Sum("report__sightings__count"),
            bucks=Sum("report__sightings__count", filter=Q(report__sightings__sex=DeerSex.BUCK)),
            does=Sum("report__sightings__count", filter=Q(report__sightings__sex=DeerSex.DOE)),
        )
        .order_by("local_date", "starts_at", "id")
        .values(
            "property_id",
            "person_id",
            "person__host_id",
            "host_id",
            "outfitter_id",
            "local_date",
            "checked_in_at",
            "checked_out_at",
            "report__id",
            "report__shots",
            "deer",
            "bucks",
            "does",
        )
    )
    for row in rows:
        found[row["property_id"]].append(_sat(row))
    return found


def _sat(row: Mapping[str, Any]) -> SatRow:
    came, left = row["checked_in_at"], row["checked_out_at"]
    if row["outfitter_id"] is not None:
        standing = "client"
    elif row["host_id"] is not None or row["person__host_id"] is not None:
        standing = "guest"
    else:
        standing = "member"
    return SatRow(
        person=str(row["person_id"]),
        local_date=row["local_date"],
        standing=standing,
        hours=None if came is None or left is None else (left - came).total_seconds() / 3600,
        is_reported=row["report__id"] is not None,
        shots=row["report__shots"] or 0,
        deer=row["deer"] or 0,
        bucks=row["bucks"] or 0,
        does=row["does"] or 0,
    )


def _taken(
    zones: Mapping[UUID, ZoneInfo],
    starts_at: datetime,
    ends_at: datetime,
    first_on: date,
    last_on: date,
) -> dict[UUID, list[tuple[str, date]]]:
    found: dict[UUID, list[tuple[str, date]]] = defaultdict(list)
    rows = Harvest.objects.filter(
        property__in=zones, taken_at__gte=starts_at, taken_at__lt=ends_at
    ).order_by("taken_at", "id")
    for land_id, kind, taken_at in rows.values_list("property_id", "harvest_class", "taken_at"):
        on = local_date_of(taken_at, zones[land_id])
        if first_on <= on <= last_on:
            found[land_id].append((kind, on))
    return found


def _plans(lands: Sequence[Property], season_year: int) -> dict[UUID, dict[str, int]]:
    found: dict[UUID, list[HarvestPlan]] = defaultdict(list)
    for plan in HarvestPlan.objects.filter(property__in=lands, season_year=season_year):
        found[plan.property_id].append(plan)
    return {land.id: planned_by_class(found[land.id]) for land in lands}


def _notes(lands: Sequence[Property], first_on: date, last_on: date) -> dict[UUID, Counter[str]]:
    found: dict[UUID, Counter[str]] = defaultdict(Counter)
    rows = LandNote.objects.filter(
        property__in=lands, retired_at=None, happened_on__range=(first_on, last_on)
    )
    for land_id, topic in rows.values_list("property_id", "topic"):
        found[land_id][topic] += 1
    zones = {land.id: ZoneInfo(land.time_zone) for land in lands}
    told = told_of_properties(property_ids=zones).values_list("property_id", "kind", "happened_at")
    for land_id, kind, happened_at in told:
        if first_on <= local_date_of(happened_at, zones[land_id]) <= last_on:
            found[land_id][topic_of(kind)] += 1
    return found


def _work(
    zones: Mapping[UUID, ZoneInfo],
    starts_at: datetime,
    ends_at: datetime,
    first_on: date,
    last_on: date,
) -> Counter[UUID]:
    """Pieces of work: errands done, inspections, and scent that no errand asked for."""
    found: Counter[UUID] = Counter()
    scent = set()

    def days(rows: QuerySet[Any], *fields: str) -> Iterable[tuple[Any, ...]]:
        for land_id, at, *rest in rows.values_list(*fields):
            on = local_date_of(at, zones[land_id])
            if first_on <= on <= last_on:
                yield land_id, on, *rest

    done = Errand.objects.filter(
        property__in=zones,
        state=ErrandState.DONE,
        done_at__gte=starts_at,
        done_at__lt=ends_at,
    ).exclude(kind=ErrandKind.INSPECT_STAND)
    for land_id, on, kind, scrape_id in days(done, "property_id", "done_at", "kind", "scrape_id"):
        if kind == ErrandKind.REFRESH_SCENT:
            scent.add((land_id, scrape_id, on))
        else:
            found[land_id] += 1
    applied = ScentApplication.objects.filter(
        scrape__property__in=zones, applied_at__gte=starts_at, applied_at__lt=ends_at
    )
    for land_id, on, scrape_id in days(applied, "scrape__property_id", "applied_at", "scrape_id"):
        scent.add((land_id, scrape_id, on))
    found.update(land_id for land_id, _scrape_id, _on in scent)
    inspections = Inspection.objects.filter(
        stand__property__in=zones, inspected_on__range=(first_on, last_on)
    )
    found.update(inspections.values_list("stand__property_id", flat=True))
    return found


def _closed_days(
    zones: Mapping[UUID, ZoneInfo], first_on: date, last_on: date, now: datetime
) -> Counter[UUID]:
    """Days of the season on which all ground was closed, today at most."""
    closed: set[tuple[UUID, date]] = set()
    rows = Closure.objects.filter(
        property__in=zones, lifted_at=None, first_on__lte=last_on, last_on__gte=first_on
    ).filter(part__isnull=True, session_kind="")
    for land_id, begins, ends in rows.values_list("property_id", "first_on", "last_on"):
        begins = max(begins, first_on)
        ends = min(ends, last_on, local_date_of(now, zones[land_id]))
        days = range((ends - begins).days + 1)
        closed |= {(land_id, begins + timedelta(days=offset)) for offset in days}
    return Counter(land_id for land_id, _on in closed)


def _watched(
    lands: Sequence[Property],
    first_on: date,
    last_on: date,
    ends_at: datetime,
    now: datetime,
    settings: SettingsUsed,
) -> Mapping[UUID, WatchedRow]:
    if not lands:
        return {}
    until = last_sign(lands[0].cooperative_id, after=ends_at, now=now)
    records = records_of(
        lands, first_on=first_on, last_on=last_on, now=until, settings=settings.visits
    )
    of: dict[UUID, list[ScrapeRecord]] = defaultdict(list)
    for record in records:
        of[record.scrape.property_id].append(record)
    return {land.id: _summed(of[land.id], settings.report.confidence) for land in lands}


def _summed(records: Sequence[ScrapeRecord], confidence: float) -> WatchedRow:
    visits, nights = 0, 0.0
    for record in records:
        start_s, end_s = record.days.span_s(0, len(record.days))
        visits += len(record.visits_between(start_s, end_s).start_s)
        nights += clipped(record.watched, start_s=start_s, end_s=end_s).camera_nights
    low, high = poisson_limits(visits, confidence=confidence)
    return WatchedRow(
        visits=visits,
        camera_nights=round(nights, 1),
        low=round(float(low), 1),
        high=round(float(high), 1),
    )


def _shares(lands: Sequence[Property], first_on: date, last_on: date) -> tuple[ShareRow, ...]:
    """Asked and got of each member, in no order that tells who; guests and clients left out."""
    asked = asked_by_person(lands=lands, first_on=first_on, last_on=last_on)
    sits = members_sits(lands=lands, first_on=first_on, last_on=last_on)
    got = Counter(sits.values_list("person_id", flat=True))
    people = set(asked) | set(got)
    weights = dict(
        Member.objects.filter(person__in=people).values_list("person_id", "entitlement_weight")
    )
    shares = [
        ShareRow(weight=weights.get(person, 1), asked=asked[person], got=got[person])
        for person in people
    ]
    return tuple(sorted(shares, key=lambda share: (share.got, share.asked, share.weight)))
