"""Surveys that an actor may see, the pictures behind them, and what hunters saw."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.land.settings import resolve
from properties.sessions.local_time import local_day
from scheduling.herd.models import CameraSurvey
from scheduling.herd.observed import SeenClass, Watched, seen_class
from scheduling.herd.settings import HerdSettings
from scheduling.sits.models import Sighting, SitReport
from scrapes.cameras.models import Observation, ObservationKind
from scrapes.visits.pictures import DeerClass, deer_class
from scrapes.visits.settings import VisitSettings


def herd_settings_of(land: Property) -> HerdSettings:
    return resolve(HerdSettings, *setting_layers(land))


def visit_settings_of(land: Property) -> VisitSettings:
    return resolve(VisitSettings, *setting_layers(land))


def surveys_visible_to(
    *, actor: Actor, action: Action = Action.HERD_READ
) -> QuerySet[CameraSurvey]:
    return scoped(CameraSurvey.objects.all(), actor=actor, action=action)


@dataclass(frozen=True, kw_only=True)
class PicturesOfSurvey:
    """Animals in the pictures of a survey by class, and bucks that somebody named.

    ``untagged`` pictures were looked at by nobody: they may hold deer of any class.
    """

    by_class: dict[DeerClass, int]
    bucks_named: dict[str, int]
    untagged: int

    def of(self, one: DeerClass) -> int:
        return self.by_class.get(one, 0)


def pictures_of(survey: CameraSurvey) -> PicturesOfSurvey:
    """Count the deer in the pictures of the survey's cameras over its days.

    Every picture counts, as the method has it; a row without a number is one animal.
    """
    zone = ZoneInfo(survey.property.time_zone)
    settings = visit_settings_of(survey.property)
    codes = settings.species_codes()
    wanted = settings.species.index(survey.species) if survey.species else None
    rows = Observation.objects.filter(
        deployment__camera__in=survey.cameras.all(),
        observed_at__gte=local_day(survey.first_on, zone)[0],
        observed_at__lt=local_day(survey.last_on, zone)[1],
    )
    by_class: Counter[DeerClass] = Counter()
    named: Counter[str] = Counter()
    animals = rows.filter(kind=ObservationKind.ANIMAL)
    for species, count, sex, stage, individual in animals.values_list(
        "species", "count", "sex", "life_stage", "individual"
    ).iterator():
        code = codes.get(species.strip().lower())
        if code is None or (wanted is not None and code != wanted):
            continue
        number = 1 if count is None else count
        kind = deer_class(sex, stage)
        by_class[kind] += number
        if kind is DeerClass.BUCK and individual:
            named[individual] += number
    untagged = rows.filter(kind__in=[ObservationKind.UNKNOWN, ObservationKind.UNCLASSIFIED]).count()
    return PicturesOfSurvey(by_class=dict(by_class), bucks_named=dict(named), untagged=untagged)


@dataclass(frozen=True, kw_only=True)
class ReportedSit:
    on: date
    hours: float
    seen: dict[SeenClass, int]

    def in_period(self, period: int) -> Watched:
        return Watched(period=period, hours=self.hours, seen=self.seen)


@dataclass(frozen=True, kw_only=True)
class ReportedSits:
    """Reported sits whose hours are known; ``without_hours`` could not be used."""

    sits: tuple[ReportedSit, ...]
    without_hours: int


def reported_sits(land: Property, first_on: date, last_on: date) -> ReportedSits:
    """Sits of a property over local dates with a report, by date; two queries."""
    rows = SitReport.objects.filter(
        sit__property=land, sit__local_date__range=(first_on, last_on)
    ).select_related("sit")
    seen: dict[UUID, Counter[SeenClass]] = defaultdict(Counter)
    sightings = Sighting.objects.filter(report__in=rows)
    for report_id, sex, age, count in sightings.values_list(
        "report_id", "sex", "age_class", "count"
    ):
        seen[report_id][seen_class(sex, age)] += count
    found, without = [], 0
    for row in rows.order_by("sit__local_date", "id"):
        came, left = row.sit.checked_in_at, row.sit.checked_out_at
        if came is None or left is None or left <= came:
            without += 1
            continue
        hours = (left - came).total_seconds() / 3600
        found.append(ReportedSit(on=row.sit.local_date, hours=hours, seen=dict(seen[row.id])))
    return ReportedSits(sits=tuple(found), without_hours=without)
