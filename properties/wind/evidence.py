"""What sits tell of wind and fit. The floor that knows of sits registers where to ask."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from properties.land.models import Property
from properties.sessions.kinds import SessionKind


@dataclass(frozen=True, kw_only=True)
class WindReport:
    """Wind as a hunter felt it at a stand; several of one sit share its id."""

    sit_id: UUID
    stand_id: UUID
    felt_at: datetime
    from_deg: float


@dataclass(frozen=True, kw_only=True)
class SitOutcome:
    """What came of a reported sit, and what had been forecast for it.

    ``fit`` and ``issue_id`` are as known when the sit began; ``kind`` is None for a sit of
    all day. ``winded`` and ``alarmed`` count deer that smelled the hunter, and that noticed
    in any way.
    """

    sit_id: UUID
    stand_id: UUID
    local_date: date
    kind: SessionKind | None
    fit: float | None
    issue_id: UUID | None
    winded: int
    alarmed: int


WindReports = Callable[[Property], Iterable[WindReport]]
SitOutcomes = Callable[[Property], Iterable[SitOutcome]]

_wind_reports: list[WindReports] = []
_sit_outcomes: list[SitOutcomes] = []


def register_wind_reports(source: WindReports) -> None:
    """Let a floor above tell what wind was felt at stands."""
    _wind_reports.append(source)


def register_sit_outcomes(source: SitOutcomes) -> None:
    """Let a floor above tell what came of sits."""
    _sit_outcomes.append(source)


def wind_reports_of(land: Property) -> list[WindReport]:
    """Every report of a property, in order of time."""
    found = [report for source in _wind_reports for report in source(land)]
    return sorted(found, key=lambda report: (report.felt_at, report.sit_id))


def sit_outcomes_of(land: Property) -> list[SitOutcome]:
    """Every reported sit of a property, in order of date."""
    found = [outcome for source in _sit_outcomes for outcome in source(land)]
    return sorted(found, key=lambda outcome: (outcome.local_date, outcome.sit_id))
