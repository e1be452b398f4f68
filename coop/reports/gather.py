"""Read what a month's report is made of; the number of queries does not grow with the rows."""

from datetime import date, datetime, timedelta

import numpy as np
from django.db.models import Count, Q, Sum

from coop.access.roles import Role
from coop.reports.figures import SettingsUsed
from coop.reports.gather_scrapes import scrape_months
from coop.reports.gather_work import work_done, work_due
from coop.reports.models import LandNote
from coop.reports.periods import Period, period_of
from coop.reports.released import released_notes
from coop.reports.rows import (
    ClosureRow,
    ContactRow,
    HarvestRow,
    LandRow,
    MapRow,
    MonthRows,
    NoteRow,
    SeasonRow,
    SitReportRow,
    SitRow,
    WindRows,
)
from coop.reports.standing import standing_of
from properties.land.models import Closure, FeatureKind, Property
from properties.land.queries import features_of
from properties.land.years import first_day_of, year_of
from properties.people.models import Person, RoleGrant, Units
from properties.sessions.local_time import local_date_of
from properties.sessions.models import Season
from properties.wind.models import ObservedHour
from scheduling.sits.harvest_queries import planned_by_class
from scheduling.sits.models import Harvest, HarvestPlan, Sit, SitReport, SitState

# What the landowner's plan may show: where crops and water are says nothing about stands.
SHOWN_ON_THE_PLAN = (FeatureKind.FOOD_PLOT, FeatureKind.WATER)


def gather(*, land: Property, month: date, now: datetime, settings: SettingsUsed) -> MonthRows:
    """Everything a report needs of one property and month, as known at ``now``."""
    period = period_of(month, land.time_zone)
    ahead_until = period.last_on + timedelta(days=settings.report.days_ahead)
    contact, units = _people(land)
    first_month = settings.sits.season_year_first_month
    sits, work = _sits(land, period.first_on, period.last_on), work_done(land, period)
    return MonthRows(
        land=_land(land),
        month=period.first_on,
        now=now,
        units=units,
        sits=sits,
        reports=_sit_reports(land, period),
        harvests=_harvests(land, period, first_month),
        harvest_plan=_harvest_plan(land, period, first_month),
        notes=_notes(land, period),
        work=work,
        closures=_closures(land, period.first_on, ahead_until),
        seasons=_seasons(land, period.first_on, ahead_until),
        due=work_due(land, ahead_until),
        sits_ahead=_sits(land, period.last_on + timedelta(days=1), ahead_until),
        mapped=_mapped(land),
        contact=contact,
        scrapes=scrape_months(
            land=land,
            period=period,
            now=now,
            settings=settings.visits,
            confidence=settings.report.confidence,
        ),
        wind=_wind(land, period),
        vehicles=vehicles_of(land, {row.person for row in sits} | {row.person for row in work}),
    )


def vehicles_of(land: Property, names: set[str]) -> dict[str, str]:
    """Vehicles by name, of the land's own cooperative."""
    rows = Person.objects.filter(cooperative=land.cooperative_id, name__in=names - {""})
    return dict(rows.exclude(vehicle="").order_by("name", "id").values_list("name", "vehicle"))


def _land(land: Property) -> LandRow:
    return LandRow(
        name=land.name,
        cooperative_name=land.cooperative.name,
        time_zone=land.time_zone,
        area_m2=land.area_m2,
        boundary=land.boundary,
    )


def _sits(land: Property, first_on: date, last_on: date) -> tuple[SitRow, ...]:
    rows = (
        Sit.objects.filter(property=land, local_date__range=(first_on, last_on))
        .exclude(state=SitState.CANCELLED)
        .select_related("person__member", "person__host", "host", "outfitter")
        .order_by("local_date", "starts_at", "person__name", "id")
    )
    return tuple(_sit(row) for row in rows)


def _sit(row: Sit) -> SitRow:
    standing, through = standing_of(row)
    return SitRow(
        person=row.person.name,
        standing=standing,
        through=through,
        local_date=row.local_date,
        span=row.span,
        state=row.state,
        came_at=row.checked_in_at,
        left_at=row.checked_out_at,
        observed_sector=row.observed_sector,
    )


def _sit_reports(land: Property, period: Period) -> tuple[SitReportRow, ...]:
    rows = (
        SitReport.objects.filter(
            sit__property=land, sit__local_date__range=(period.first_on, period.last_on)
        )
        .annotate(deer_seen=Sum("sightings__count"))
        .order_by("sit__local_date", "id")
        .values("sit__local_date", "shots", "incident", "stand_unsafe", "deer_seen")
    )
    return tuple(
        SitReportRow(
            local_date=row["sit__local_date"],
            shots=row["shots"],
            deer_seen=row["deer_seen"] or 0,
            tells_of_something_wrong=bool(row["incident"].strip()),
            stand_unsafe=row["stand_unsafe"],
        )
        for row in rows
    )


def _harvests(land: Property, period: Period, first_month: int) -> tuple[HarvestRow, ...]:
    season_year = year_of(period.first_on, first_month=first_month)
    begins_on = first_day_of(season_year, first_month=first_month)
    rows = (
        Harvest.objects.filter(
            property=land,
            taken_at__gte=period_of(begins_on, land.time_zone).starts_at,
            taken_at__lt=period.ends_at,
        )
        .order_by("taken_at", "id")
        .values_list("person__name", "harvest_class", "taken_at")
    )
    return tuple(
        HarvestRow(person=name, harvest_class=kind, local_date=local_date_of(taken_at, period.zone))
        for name, kind, taken_at in rows
    )


def _harvest_plan(land: Property, period: Period, first_month: int) -> dict[str, int]:
    season_year = year_of(period.first_on, first_month=first_month)
    return planned_by_class(HarvestPlan.objects.filter(property=land, season_year=season_year))


def _notes(land: Property, period: Period) -> tuple[NoteRow, ...]:
    """Managers' notes, and the incidents that they released, in order of day."""
    rows = [*_written_notes(land, period), *released_notes(land, period)]
    return tuple(sorted(rows, key=lambda row: row.happened_on))


def _written_notes(land: Property, period: Period) -> tuple[NoteRow, ...]:
    rows = LandNote.objects.filter(
        property=land, retired_at=None, happened_on__range=(period.first_on, period.last_on)
    ).select_related("feature")
    return tuple(
        NoteRow(
            happened_on=row.happened_on,
            topic=row.topic,
            what=row.what,
            done=row.done,
            feature=row.feature.name if row.feature else "",
        )
        for row in rows.order_by("happened_on", "id")
    )


def _closures(land: Property, first_on: date, last_on: date) -> tuple[ClosureRow, ...]:
    rows = Closure.objects.filter(
        property=land, lifted_at=None, first_on__lte=last_on, last_on__gte=first_on
    )
    return tuple(
        ClosureRow(
            first_on=row.first_on,
            last_on=row.last_on,
            reason=row.reason,
            whole=row.part is None and not row.session_kind,
        )
        for row in rows.order_by("first_on", "id")
    )


def _seasons(land: Property, first_on: date, last_on: date) -> tuple[SeasonRow, ...]:
    rows = Season.objects.filter(property=land, first_on__lte=last_on, last_on__gte=first_on)
    return tuple(
        SeasonRow(name=row.name, first_on=row.first_on, last_on=row.last_on)
        for row in rows.order_by("first_on", "name")
    )


def _mapped(land: Property) -> tuple[MapRow, ...]:
    rows = features_of(property_id=land.id).filter(kind__in=SHOWN_ON_THE_PLAN)
    return tuple(MapRow(kind=row.kind, name=row.name, geometry=row.geometry) for row in rows)


def _people(land: Property) -> tuple[ContactRow | None, str]:
    """The one manager to call (else the coordinator), and the units the landowner reads."""
    grants = (
        RoleGrant.objects.filter(
            Q(property=land, role__in=[Role.MANAGER, Role.LANDOWNER])
            | Q(cooperative=land.cooperative_id, role=Role.COORDINATOR),
            revoked_at=None,
            person__retired_at=None,
        )
        .select_related("person")
        .order_by("created_at", "id")
    )
    holders: dict[str, list[Person]] = {}
    for grant in grants:
        holders.setdefault(grant.role, []).append(grant.person)
    candidates = [
        (role, person)
        for role in (Role.MANAGER, Role.COORDINATOR)
        for person in holders.get(role, [])
    ]
    # Whoever has a number comes first: a name alone cannot be called.
    candidates.sort(key=lambda candidate: not candidate[1].phone)
    contact = (
        ContactRow(name=candidates[0][1].name, phone=candidates[0][1].phone, role=candidates[0][0])
        if candidates
        else None
    )
    landowners = holders.get(Role.LANDOWNER, [])
    return contact, landowners[0].units if landowners else Units.US


def _wind(land: Property, period: Period) -> WindRows:
    """The month's observed hours of the one source that has the most of them."""
    inside = ObservedHour.objects.filter(
        property=land, starts_at__gte=period.starts_at, starts_at__lt=period.ends_at
    )
    best = inside.values("source").annotate(hours=Count("id")).order_by("-hours", "source").first()
    source = best["source"] if best else ""
    rows = list(
        inside.filter(source=source)
        .order_by("starts_at")
        .values_list("wind_from_deg", "speed_mps", "variable")
    )
    return WindRows(
        source=source,
        wind_from_deg=np.array([np.nan if row[0] is None else row[0] for row in rows], float),
        speed_mps=np.array([np.nan if row[1] is None else row[1] for row in rows], float),
        variable=np.array([row[2] for row in rows], bool),
    )
