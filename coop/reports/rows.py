"""Plain rows from which a month's figures are made: what the database held, no more."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

# States of a sit in which somebody was there.
PRESENT = frozenset({"checked_in", "checked_out", "reported"})


@dataclass(frozen=True, kw_only=True)
class LandRow:
    name: str
    cooperative_name: str
    time_zone: str
    area_m2: float
    boundary: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class SitRow:
    """One sit; ``standing`` is member, guest or client, ``through`` the host or outfitter."""

    person: str
    standing: str
    through: str
    local_date: date
    span: str
    state: str
    came_at: datetime | None
    left_at: datetime | None
    observed_sector: int | None


@dataclass(frozen=True, kw_only=True)
class SitReportRow:
    local_date: date
    shots: int
    deer_seen: int
    tells_of_something_wrong: bool
    stand_unsafe: bool


@dataclass(frozen=True, kw_only=True)
class HarvestRow:
    person: str
    harvest_class: str
    local_date: date


@dataclass(frozen=True, kw_only=True)
class NoteRow:
    happened_on: date
    topic: str
    what: str
    done: str
    feature: str


@dataclass(frozen=True, kw_only=True)
class WorkRow:
    """One thing done: its kind, local date, who (where known), and whether it passed."""

    kind: str
    local_date: date
    person: str = ""
    passed: bool = True


@dataclass(frozen=True, kw_only=True)
class ClosureRow:
    """Closed ground; ``whole`` unless only a part, or only mornings or evenings, are closed."""

    first_on: date
    last_on: date
    reason: str
    whole: bool = True


@dataclass(frozen=True, kw_only=True)
class SeasonRow:
    name: str
    first_on: date
    last_on: date


@dataclass(frozen=True, kw_only=True)
class DueRow:
    kind: str
    due_on: date


@dataclass(frozen=True, kw_only=True)
class MapRow:
    """A mapped feature that the landowner's plan may show."""

    kind: str
    name: str
    geometry: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class ContactRow:
    name: str
    phone: str
    role: str


@dataclass(frozen=True, kw_only=True)
class Count:
    """Visits counted in camera-nights, with what was expected of them.

    ``low`` and ``high`` are exact Poisson limits of the mean behind the count; ``expected`` is
    None where nothing was watched.
    """

    visits: int
    camera_nights: float
    low: float
    high: float
    expected: float | None


@dataclass(frozen=True, kw_only=True)
class ScrapeMonth:
    """One scrape's month; ``before`` and ``since`` part it at the last scent of the month.

    Nine months in ten of what is expected lie within ``expected_low`` and ``expected_high``;
    ``untagged_stays`` are events whose pictures nobody has looked at.
    """

    name: str
    whole: Count
    expected_low: int | None
    expected_high: int | None
    scent_on: date | None
    before: Count | None
    since: Count | None
    untagged_stays: int


@dataclass(frozen=True, kw_only=True)
class WindRows:
    """Observed hours of the month from one source; arrays of shape (hours,), nan if unknown."""

    source: str
    wind_from_deg: NDArray[np.float64]
    speed_mps: NDArray[np.float64]
    variable: NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class MonthRows:
    land: LandRow
    month: date
    now: datetime
    units: str
    sits: tuple[SitRow, ...]
    reports: tuple[SitReportRow, ...]
    harvests: tuple[HarvestRow, ...]
    harvest_plan: Mapping[str, int]
    notes: tuple[NoteRow, ...]
    work: tuple[WorkRow, ...]
    closures: tuple[ClosureRow, ...]
    seasons: tuple[SeasonRow, ...]
    due: tuple[DueRow, ...]
    sits_ahead: tuple[SitRow, ...]
    mapped: tuple[MapRow, ...]
    contact: ContactRow | None
    scrapes: tuple[ScrapeMonth, ...]
    wind: WindRows
    vehicles: Mapping[str, str] = field(default_factory=dict)
    """By name of whoever was on the land: make, colour, plate."""
