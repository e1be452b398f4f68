"""Templates and items that an actor may see, and a property's year as the list needs it."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.land import settings as layered_settings
from properties.land import years
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.sessions.models import Season
from properties.sessions.seasons import BreedingPeak
from scheduling.sits.settings import SitSettings
from scheduling.worklist.models import WorkItem, WorkState, WorkTemplate
from scheduling.worklist.settings import WorklistSettings
from scheduling.worklist.weeks import Anchor, Span, anchored_on, week_on


def templates_visible_to(
    *, actor: Actor, action: Action = Action.WORKLIST_READ
) -> QuerySet[WorkTemplate]:
    return scoped(WorkTemplate.objects.all(), actor=actor, action=action)


def items_visible_to(*, actor: Actor, action: Action = Action.WORKLIST_READ) -> QuerySet[WorkItem]:
    return scoped(WorkItem.objects.all(), actor=actor, action=action)


@dataclass(frozen=True, kw_only=True)
class Year:
    """What a property's templates hang on."""

    first_month: int
    peak: BreedingPeak | None
    seasons: tuple[Season, ...]

    def season_year(self, day: date) -> int:
        return years.year_of(day, first_month=self.first_month)

    def anchored_on(self, template: WorkTemplate, season_year: int) -> date | None:
        """The day of a template's anchor in a season's year."""
        return anchored_on(
            Anchor(template.anchor),
            season_year=season_year,
            first_month=self.first_month,
            peaks=self._peaks(season_year),
            seasons=[Span(first_on=one.first_on, last_on=one.last_on) for one in self.seasons],
            month_day=template.month_day,
        )

    def _peaks(self, season_year: int) -> list[date]:
        if self.peak is None:
            return []
        return [self.peak.in_year(year) for year in (season_year, season_year + 1)]

    def due_on(self, template: WorkTemplate, season_year: int) -> date | None:
        day = self.anchored_on(template, season_year)
        return None if day is None else day + timedelta(weeks=template.offset_weeks)

    def season_of(self, template: WorkTemplate, season_year: int) -> Season | None:
        """The season that a template hangs on, which begins or ends on the anchor's day."""
        if template.anchor not in (Anchor.SEASON_OPENS, Anchor.SEASON_CLOSES):
            return None
        day = self.anchored_on(template, season_year)
        opens = template.anchor == Anchor.SEASON_OPENS
        return next(
            (one for one in self.seasons if (one.first_on if opens else one.last_on) == day), None
        )


def year_of(land: Property) -> Year:
    sits = layered_settings.resolve(SitSettings, *setting_layers(land))
    peak = land.peak_of_breeding_as_set
    return Year(
        first_month=sits.season_year_first_month,
        peak=None if peak is None else BreedingPeak(usual=peak),
        seasons=tuple(Season.objects.filter(property=land).order_by("first_on", "name")),
    )


def settings_of(land: Property) -> WorklistSettings:
    return layered_settings.resolve(WorklistSettings, *setting_layers(land))


@dataclass(frozen=True, kw_only=True)
class Week:
    """One week's items; ``starts_on`` is its Monday."""

    starts_on: date
    items: tuple[WorkItem, ...]


@dataclass(frozen=True, kw_only=True)
class Worklist:
    """The list of some weeks. ``overdue``: open and of a week before the first one shown and
    before today's. ``undated``: templates whose anchor no season says."""

    land: Property
    today: date
    weeks: tuple[Week, ...]
    overdue: tuple[WorkItem, ...]
    undated: tuple[WorkTemplate, ...]


def worklist_of(land: Property, *, first_on: date, weeks: int, now: datetime) -> Worklist:
    """The weeks from the one that begins on ``first_on``; what fell away is not shown."""
    today = local_date_on(land, now)
    last_on = first_on + timedelta(weeks=weeks)
    rows = (
        WorkItem.objects.filter(property=land)
        .exclude(state=WorkState.FELL_AWAY)
        .select_related("done_by", "property")
        .order_by("due_on", "task", "id")
    )
    by_week: dict[date, list[WorkItem]] = {}
    for item in rows.filter(week_on__gte=first_on, week_on__lt=last_on):
        by_week.setdefault(item.week_on, []).append(item)
    begins = [first_on + timedelta(weeks=number) for number in range(weeks)]
    before = min(first_on, week_on(today))
    year = year_of(land)
    this_year = year.season_year(first_on)
    standing = WorkTemplate.objects.filter(property=land, retired_at=None).order_by("title", "id")
    return Worklist(
        land=land,
        today=today,
        weeks=tuple(Week(starts_on=begin, items=tuple(by_week.get(begin, ()))) for begin in begins),
        overdue=tuple(rows.filter(state=WorkState.OPEN, week_on__lt=before)),
        undated=tuple(one for one in standing if year.anchored_on(one, this_year) is None),
    )
