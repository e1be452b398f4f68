"""Plain rows from which a season's figures are made, one property beside the other."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, kw_only=True)
class SatRow:
    """One sit in which somebody was there; ``hours`` is None where an end is not known.

    ``person`` is a key to count people by, never shown. Deer and shots are of its report.
    """

    person: str
    local_date: date
    standing: str
    hours: float | None
    is_reported: bool
    shots: int
    deer: int
    bucks: int
    does: int


@dataclass(frozen=True, kw_only=True)
class WatchedRow:
    """Visits at all of a property's scrapes in the camera-nights of working cameras."""

    visits: int
    camera_nights: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class LandSeason:
    """What one property's season holds; ``taken`` is (class, local date) of each deer."""

    name: str
    sits: tuple[SatRow, ...]
    taken: tuple[tuple[str, date], ...]
    plan: Mapping[str, int]
    closed_days: int
    notes: Mapping[str, int]
    work: int
    watched: WatchedRow


@dataclass(frozen=True, kw_only=True)
class ShareRow:
    """What one member asked for and got in the season on all properties; no name."""

    weight: int
    asked: int
    got: int


@dataclass(frozen=True, kw_only=True)
class SeasonRows:
    cooperative_name: str
    season_year: int
    first_on: date
    last_on: date
    time_zones: tuple[str, ...]
    starts_at: datetime
    ends_at: datetime
    now: datetime
    lands: tuple[LandSeason, ...]
    shares: tuple[ShareRow, ...]
