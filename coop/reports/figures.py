"""Every figure of a month's report, made from plain rows; no clock, no database."""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any

from coop.printing.privacy import withheld
from coop.reports.appendix import AppendixFigures, appendix_figures
from coop.reports.editions import digest_without, plain
from coop.reports.ground_plan import GroundPlan, ground_plan
from coop.reports.next_dates import NextDate, next_dates
from coop.reports.periods import period_of
from coop.reports.presence import CalendarDay, WhoWasThere, sits_calendar, who_was_there
from coop.reports.rows import ContactRow, HarvestRow, MonthRows, WorkRow
from coop.reports.settings import ReportSettings
from properties.land.years import year_of
from scheduling.sits.settings import SitSettings
from scrapes.visits.scrape_records import SettingsInForce

_DROP_SETTINGS_USED = (
    "dispersion",
    "prior_visits_per_night",
    "prior_shape",
    "prior_shape_maximum",
    "same_place_m",
    "same_heading_deg",
)

# How the counting goes, told on every edition; the sentences stand in ``wording``.
RULES = ("present_if_checked_in", "deer_by_the_propertys_own_day", "visits_in_watched_time")

# What the same month may say differently later without having been corrected: names, the map
# and tastes pass on, and what came next has come.
_NOT_OF_THE_MONTH = frozenset(
    {
        "area_m2",
        "contact",
        "cooperative_name",
        "cut_off_at",
        "next_dates",
        "plan",
        "property_name",
        "rules",
        "settings_used",
        "units",
    }
)


@dataclass(frozen=True, kw_only=True)
class ClassTaken:
    """Deer of one class: in the month, in the season so far, planned (None: no plan)."""

    harvest_class: str
    in_month: int
    in_season: int
    planned: int | None


@dataclass(frozen=True, kw_only=True)
class DeerTaken:
    season_year: int
    classes: tuple[ClassTaken, ...]
    taken: tuple[HarvestRow, ...]
    reports: int
    shots: int
    deer_seen: int


@dataclass(frozen=True, kw_only=True)
class Note:
    on: date
    topic: str
    what: str
    done: str


@dataclass(frozen=True, kw_only=True)
class Incidents:
    """What managers tell, and how many hunters' reports of something wrong came in."""

    notes: tuple[Note, ...]
    reports_of_something_wrong: int
    reports_of_unsafe_stands: int


@dataclass(frozen=True, kw_only=True)
class WorkDone:
    kind: str
    count: int
    failed: int
    days: tuple[date, ...]


@dataclass(frozen=True, kw_only=True)
class Work:
    done: tuple[WorkDone, ...]
    notes: tuple[Note, ...]


@dataclass(frozen=True, kw_only=True)
class MonthFigures:
    property_name: str
    cooperative_name: str
    month: date
    first_on: date
    last_on: date
    time_zone: str
    cut_off_at: datetime
    finished: bool
    area_m2: float
    units: str
    who: WhoWasThere
    calendar: tuple[CalendarDay, ...]
    deer: DeerTaken
    incidents: Incidents
    work: Work
    next_dates: tuple[NextDate, ...]
    contact: ContactRow | None
    plan: GroundPlan
    sources: Mapping[str, int]
    rules: tuple[str, ...]
    settings_used: Mapping[str, Any]
    appendix: AppendixFigures

    def as_dict(self) -> dict[str, Any]:
        """Every figure as JSON values: dates and instants in ISO 8601, lengths in metres."""
        return plain(self)


@dataclass(frozen=True, kw_only=True)
class SettingsUsed:
    report: ReportSettings
    sits: SitSettings
    visits: SettingsInForce

    def as_told(self) -> dict[str, Any]:
        """Those that bear on the figures, by the groups under which a property sets them.

        A curve that was learned goes with the others that may as well be true.
        """
        drop = self.visits.drop
        return {
            "reports": asdict(self.report),
            "sits": {"season_year_first_month": self.sits.season_year_first_month},
            "visits": asdict(self.visits.visits),
            "season_curve": asdict(self.visits.season),
            "season_draws": [asdict(draw) for draw in self.visits.season_draws],
            "drop": {name: getattr(drop, name) for name in _DROP_SETTINGS_USED},
            "camera_health": asdict(self.visits.cameras),
        }


def month_figures(rows: MonthRows, settings: SettingsUsed) -> MonthFigures:
    """The figures of one month of one property."""
    period = period_of(rows.month, rows.land.time_zone)
    return MonthFigures(
        property_name=rows.land.name,
        cooperative_name=rows.land.cooperative_name,
        month=period.first_on,
        first_on=period.first_on,
        last_on=period.last_on,
        time_zone=rows.land.time_zone,
        cut_off_at=rows.now,
        finished=period.finished(rows.now),
        area_m2=rows.land.area_m2,
        units=rows.units,
        who=who_was_there(rows, period),
        calendar=sits_calendar(rows, period),
        deer=_deer(rows, settings.sits.season_year_first_month),
        incidents=_incidents(rows),
        work=_work(rows),
        next_dates=next_dates(rows, period, days_ahead=settings.report.days_ahead),
        contact=rows.contact,
        plan=ground_plan(rows.land.boundary, rows.mapped, worked_on=_worked_on(rows)),
        sources=_sources(rows),
        rules=RULES,
        settings_used=settings.as_told(),
        appendix=appendix_figures(
            rows,
            confidence=settings.report.confidence,
            record_days=settings.visits.visits.record_days,
        ),
    )


def digest_of(figures: Mapping[str, Any]) -> str:
    """SHA-256 of what a month's figures say about the month itself.

    ``figures`` is :meth:`MonthFigures.as_dict`. What passes on without the month having been
    corrected (cut-off, next dates, the person to call, the map) is left out.
    """
    return digest_without(figures, _NOT_OF_THE_MONTH)


def page_digest_of(figures: Mapping[str, Any]) -> str:
    """As :func:`digest_of`, of what the landowner's page tells: not the managers' appendix."""
    return digest_without(figures, _NOT_OF_THE_MONTH | {"appendix"})


def _deer(rows: MonthRows, first_month: int) -> DeerTaken:
    in_season = Counter(row.harvest_class for row in rows.harvests)
    taken = tuple(row for row in rows.harvests if row.local_date >= rows.month)
    in_month = Counter(row.harvest_class for row in taken)
    classes = sorted(set(in_season) | set(rows.harvest_plan))
    return DeerTaken(
        season_year=year_of(rows.month, first_month=first_month),
        classes=tuple(
            ClassTaken(
                harvest_class=name,
                in_month=in_month[name],
                in_season=in_season[name],
                planned=rows.harvest_plan.get(name),
            )
            for name in classes
        ),
        taken=taken,
        reports=len(rows.reports),
        shots=sum(row.shots for row in rows.reports),
        deer_seen=sum(row.deer_seen for row in rows.reports),
    )


def _incidents(rows: MonthRows) -> Incidents:
    return Incidents(
        notes=_notes(rows, {"incident", "gate", "damage"}),
        reports_of_something_wrong=sum(row.tells_of_something_wrong for row in rows.reports),
        reports_of_unsafe_stands=sum(row.stand_unsafe for row in rows.reports),
    )


def _notes(rows: MonthRows, topics: set[str]) -> tuple[Note, ...]:
    return tuple(
        Note(
            on=row.happened_on,
            topic=row.topic,
            what=withheld(row.what),
            done=withheld(row.done),
        )
        for row in rows.notes
        if row.topic in topics
    )


def _work(rows: MonthRows) -> Work:
    of: dict[str, list[WorkRow]] = defaultdict(list)
    for row in rows.work:
        of[row.kind].append(row)
    done = tuple(
        WorkDone(
            kind=kind,
            count=len(items),
            failed=sum(not item.passed for item in items),
            days=tuple(sorted({item.local_date for item in items})),
        )
        for kind, items in sorted(of.items())
    )
    return Work(done=done, notes=_notes(rows, {"work"}))


def _worked_on(rows: MonthRows) -> frozenset[str]:
    return frozenset(row.feature for row in rows.notes if row.topic == "work" and row.feature)


def _sources(rows: MonthRows) -> dict[str, int]:
    return {
        "sits": len(rows.sits),
        "sit_reports": len(rows.reports),
        "deer_taken_in_season": len(rows.harvests),
        "work_records": len(rows.work),
        "manager_notes": len(rows.notes),
    }
