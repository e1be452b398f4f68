"""Every figure of a manager's week ahead; lengths of time in h, speeds in m/s.

Instants of sits, errands and sessions carry the property's offset; those of a record are UTC.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from coop.reports.editions import plain


@dataclass(frozen=True, kw_only=True)
class SitAhead:
    """A booked seat; ``standing`` is member, guest or client, ``through`` the host or outfitter."""

    on: date
    span: str
    stand: str
    person: str
    standing: str
    through: str
    weapon: str
    state: str
    comes_at: datetime
    gone_by: datetime


@dataclass(frozen=True, kw_only=True)
class ErrandAhead:
    """Open work that falls due in the week, or is overdue."""

    kind: str
    thing: str
    due_on: date
    is_overdue: bool
    assignee: str
    go_from: datetime | None
    go_until: datetime | None


@dataclass(frozen=True, kw_only=True)
class SessionAhead:
    """One session's forecast; None where it does not reach. Wind is where it blows from.

    ``fit_stands`` of ``known_stands``, of those that are open, suit the wind by the property's
    settings; ``best_stands`` names the best of them, the best first.
    """

    on: date
    kind: str
    starts_at: datetime
    ends_at: datetime
    wind_from_deg: float | None
    sector: str
    speed_mps: float | None
    gust_mps: float | None
    temperature_c: float | None
    precipitation_mm: float | None
    precipitation_chance: float | None
    known_stands: int
    fit_stands: int
    best_stands: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ConflictAhead:
    """Something that stands in the way of a booked sit or of work, in a sentence."""

    on: date
    span: str
    stand: str
    person: str
    code: str
    sentence: str


@dataclass(frozen=True, kw_only=True)
class InspectionAhead:
    """A stand whose inspection lapses in the week, or has; ``lapses_on`` None: never inspected."""

    stand: str
    lapses_on: date | None
    sits_after: int


@dataclass(frozen=True, kw_only=True)
class ClosureAhead:
    first_on: date
    last_on: date
    reason: str


@dataclass(frozen=True, kw_only=True)
class ForecastUsed:
    source: str
    issued_at: datetime
    received_at: datetime


@dataclass(frozen=True, kw_only=True)
class WeekFigures:
    """``rules`` are the codes of the house rules by which the sits were judged again.

    ``set_aside`` counts their objections that a manager set aside; they are no conflicts.
    """

    property_name: str
    cooperative_name: str
    first_on: date
    last_on: date
    time_zone: str
    cut_off_at: datetime
    sits: tuple[SitAhead, ...]
    errands: tuple[ErrandAhead, ...]
    sessions: tuple[SessionAhead, ...]
    conflicts: tuple[ConflictAhead, ...]
    set_aside: int
    inspections: tuple[InspectionAhead, ...]
    closures: tuple[ClosureAhead, ...]
    forecast: ForecastUsed | None
    rules: tuple[str, ...]
    sources: Mapping[str, int]
    settings_used: Mapping[str, Any]

    def as_dict(self) -> dict[str, Any]:
        """Every figure as JSON values: dates and instants in ISO 8601."""
        return plain(self)
