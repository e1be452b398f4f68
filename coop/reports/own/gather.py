"""Read one person's season; the number of queries depends on no row."""

from collections import Counter, defaultdict
from dataclasses import replace
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q, Sum

from coop.reports.own.figures import RULES, OwnDeer, OwnProperty, OwnSeason, OwnSit, together
from coop.reports.queries import settings_of_layers
from coop.reports.rows import PRESENT
from properties.land.models import Cooperative, Property
from properties.land.years import first_day_of, year_of
from properties.people.models import Person
from properties.sessions.local_time import local_date_of
from scheduling.sits.models import DeerSex, Harvest, Sit, SitRequest, SitState
from scheduling.sits.uses_queries import COUNTED_STATES


def current_season_year(cooperative: Cooperative, now: datetime) -> int:
    """The season in which ``now`` lies, by UTC: a day's doubt around its first."""
    settings = settings_of_layers(cooperative.settings)
    return year_of(now.date(), first_month=settings.sits.season_year_first_month)


def own_season(*, person: Person, season_year: int, now: datetime) -> OwnSeason:
    """A person's season on all properties of their cooperative, as known at ``now``."""
    settings = settings_of_layers(person.cooperative.settings)
    first_month = settings.sits.season_year_first_month
    first_on = first_day_of(season_year, first_month=first_month)
    last_on = first_day_of(season_year + 1, first_month=first_month) - timedelta(days=1)
    zones = {
        land_id: ZoneInfo(zone)
        for land_id, zone in Property.objects.filter(cooperative=person.cooperative).values_list(
            "id", "time_zone"
        )
    }
    rows = list(_rows(person, first_on, last_on))
    guests = _guests(person, first_on, last_on)
    sits = tuple(
        replace(_sit(row), guests=tuple(guests[row.stand_id, row.local_date, row.span]))
        for row in rows
    )
    deer = tuple(_deer(person, zones, first_on, last_on))
    return OwnSeason(
        person=person.name,
        cooperative_name=person.cooperative.name,
        season_year=season_year,
        first_on=first_on,
        last_on=last_on,
        time_zones=tuple(sorted({zone.key for zone in zones.values()})),
        cut_off_at=now,
        together=together([sit for sit in sits if sit.state in PRESENT]),
        reports_owed=sum(
            row.state in (SitState.CHECKED_IN, SitState.CHECKED_OUT) and row.ends_at < now
            for row in rows
        ),
        coming=sum(row.state == SitState.BOOKED and row.ends_at >= now for row in rows),
        sits=sits,
        deer=deer,
        properties=_properties(person, rows, first_on, last_on),
        sources={
            "sits": len(sits),
            "sit_reports": sum(sit.is_reported for sit in sits),
            "deer_taken": len(deer),
        },
        rules=RULES,
        settings_used={"sits": {"season_year_first_month": first_month}},
    )


def _rows(person: Person, first_on: date, last_on: date) -> list[Sit]:
    rows = (
        Sit.objects.filter(person=person, local_date__range=(first_on, last_on))
        .exclude(state=SitState.CANCELLED)
        .select_related("property", "stand", "report")
        .annotate(
            deer=Sum("report__sightings__count"),
            bucks=Sum("report__sightings__count", filter=Q(report__sightings__sex=DeerSex.BUCK)),
            does=Sum("report__sightings__count", filter=Q(report__sightings__sex=DeerSex.DOE)),
        )
    )
    return list(rows.order_by("local_date", "starts_at", "id"))


def _sit(row: Sit) -> OwnSit:
    came, left = row.checked_in_at, row.checked_out_at
    report = getattr(row, "report", None)
    return OwnSit(
        on=row.local_date,
        span=row.span,
        property=row.property.name,
        stand=row.stand.name,
        state=row.state,
        hours=None
        if came is None or left is None
        else round((left - came).total_seconds() / 3600, 2),
        is_reported=report is not None,
        deer=getattr(row, "deer", None) or 0,
        bucks=getattr(row, "bucks", None) or 0,
        does=getattr(row, "does", None) or 0,
        shots=report.shots if report is not None else 0,
        guests=(),
    )


def _guests(
    person: Person, first_on: date, last_on: date
) -> dict[tuple[UUID, date, str], list[str]]:
    """The person's own guests, by the seat beside which they sat."""
    found: dict[tuple[UUID, date, str], list[str]] = defaultdict(list)
    rows = Sit.objects.filter(host=person, local_date__range=(first_on, last_on)).exclude(
        state=SitState.CANCELLED
    )
    for stand_id, on, span, name in rows.order_by("person__name").values_list(
        "stand_id", "local_date", "span", "person__name"
    ):
        found[stand_id, on, span].append(name)
    return found


def _deer(
    person: Person, zones: dict[UUID, ZoneInfo], first_on: date, last_on: date
) -> list[OwnDeer]:
    rows = Harvest.objects.filter(person=person, property__in=zones).order_by("taken_at", "id")
    found = [
        OwnDeer(on=local_date_of(taken_at, zones[land_id]), property=name, harvest_class=kind)
        for land_id, name, kind, taken_at in rows.values_list(
            "property_id", "property__name", "harvest_class", "taken_at"
        )
    ]
    return [one for one in found if first_on <= one.on <= last_on]


def _properties(
    person: Person, rows: list[Sit], first_on: date, last_on: date
) -> tuple[OwnProperty, ...]:
    got = Counter(row.property.name for row in rows if row.state in COUNTED_STATES)
    asked: Counter[str] = Counter()
    requests = SitRequest.objects.filter(
        person=person, withdrawn_at=None, first_on__lte=last_on, last_on__gte=first_on
    )
    for name, wanted in requests.values_list("property__name", "wanted_sits"):
        asked[name] += wanted
    return tuple(
        OwnProperty(property=name, asked=asked[name], got=got[name])
        for name in sorted(set(got) | set(asked))
    )
