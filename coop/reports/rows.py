"""Plain rows from which a month's figures are made: what the database held, no more."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scrapes.visits.effort import Deployment, Outage

Integers = NDArray[np.int64]

# States of a sit in which somebody was there.
PRESENT = frozenset({"checked_in", "checked_out", "reported"})


@dataclass(frozen=True, kw_only=True)
class LandRow:
    name: str
    cooperative_name: str
    time_zone: str
    area_m2: float
    boundary: Mapping[str, Any]
    peak_month: int
    peak_day: int


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
    first_on: date
    last_on: date
    reason: str


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
class ScrapeRow:
    """A scrape with the cameras that watched it and the instants (UTC s) of its scent."""

    name: str
    deployments: tuple[Deployment, ...]
    outages: tuple[Outage, ...]
    scent_s: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class PictureRows:
    """Pictures of deer; arrays of shape (rows,). ``scrape`` is the index into the scrapes.

    ``individual`` is -1 where nobody told the deer apart; instants are UTC seconds.
    ``untagged`` counts the month's pictures that nobody has looked at, by scrape.
    """

    scrape: Integers
    start_s: Integers
    end_s: Integers
    individual: Integers
    untagged: Integers


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
    scrapes: tuple[ScrapeRow, ...]
    pictures: PictureRows
    wind: WindRows
