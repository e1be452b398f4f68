"""The ground that the house rules judge by: stands with what lies around them, and properties."""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from properties.sessions.kinds import SessionKind


class HazardKind(StrEnum):
    """What a shooting arc must keep clear of."""

    HOUSE = "house"
    ROAD = "road"
    HAZARD = "hazard"
    BOUNDARY = "boundary"
    SANCTUARY = "sanctuary"


@dataclass(frozen=True, kw_only=True)
class Closure:
    """Ground or a stand closed from ``starts_at`` until ``ends_at`` (None: until reopened).

    ``starts_at`` None: closed already, for however long. With a
    ``session_kind`` only the sessions of that kind are closed.
    """

    starts_at: datetime | None = None
    ends_at: datetime | None = None
    reason: str = ""
    session_kind: SessionKind | None = None

    def touches(self, starts_at: datetime, ends_at: datetime) -> bool:
        """Whether it overlaps the half-open time from ``starts_at`` to ``ends_at``."""
        has_begun = self.starts_at is None or self.starts_at < ends_at
        return has_begun and (self.ends_at is None or self.ends_at > starts_at)


@dataclass(frozen=True, kw_only=True)
class ShootingArc:
    """Bearings covered, clockwise from ``from_bearing_deg`` to ``to_bearing_deg``, true.

    Equal bearings mean the full circle.
    """

    from_bearing_deg: float
    to_bearing_deg: float


@dataclass(frozen=True, kw_only=True)
class HazardFacts:
    """Something near a stand that a shot or the hunter must keep clear of.

    ``distance_m`` is to its nearest point; the bearings are the clockwise span it fills,
    as seen from the stand (equal bearings: a single direction). ``nearest_in_arc_m`` is the
    distance to its nearest point inside the stand's arc where that is known.
    """

    kind: HazardKind
    name: str
    distance_m: float
    from_bearing_deg: float
    to_bearing_deg: float
    nearest_in_arc_m: float | None = None
    has_backstop: bool = False


@dataclass(frozen=True, kw_only=True)
class StandFacts:
    """A stand as the rules see it.

    ``inspected_on`` is the last inspection that it passed, ``failed_inspection_on`` the last
    that it failed. ``flood_stage_m`` is the gauge height at which it or its route floods.
    ``ground_closures`` are of the part of the property that it or its way in lies in.
    """

    stand_id: str
    name: str
    property_id: str
    is_elevated: bool = False
    seats: int = 1
    is_retired: bool = False
    closures: tuple[Closure, ...] = ()
    ground_closures: tuple[Closure, ...] = ()
    inspected_on: date | None = None
    failed_inspection_on: date | None = None
    shooting_arc: ShootingArc | None = None
    longest_shot_m: float = 0.0
    hazards: tuple[HazardFacts, ...] = ()
    flood_stage_m: float | None = None


@dataclass(frozen=True, kw_only=True)
class WorkAsked:
    """Hours of work owed in a year that begins in ``year_first_month``, by its day ``due``.

    ``due`` is a day of the year as ``MM-DD``; ``day_h`` hours make one work day.
    """

    hours: float
    day_h: float
    due: str
    year_first_month: int


@dataclass(frozen=True, kw_only=True)
class SeasonFacts:
    """``weapons`` permitted from ``first_date`` to ``last_date``, both included.

    ``youth_only``: to young hunters alone.
    """

    name: str
    first_date: date
    last_date: date
    weapons: frozenset[str]
    youth_only: bool = False


@dataclass(frozen=True, kw_only=True)
class LeaseFacts:
    """A lease in force from ``first_date`` to ``last_date``, both included, and what it permits.

    ``people`` are of members, guests and clients; ``weapons`` None: it says nothing of them.
    """

    first_date: date
    last_date: date
    people: frozenset[str]
    weapons: frozenset[str] | None = None


@dataclass(frozen=True, kw_only=True)
class PropertyFacts:
    """``leases`` are all that were entered; without any, no lease limits the property.

    ``closed_weekday_dates`` are those of the days asked on which regulations close it.
    ``guest_sits`` are the dates and hosts of guests' sits in the season's years of the days
    asked, which begin in ``year_first_month``.
    """

    property_id: str
    name: str
    time_zone: str
    closures: tuple[Closure, ...] = ()
    required_papers: frozenset[str] = frozenset()
    required_guest_papers: frozenset[str] = frozenset()
    seasons: tuple[SeasonFacts, ...] = ()
    dark_dates: frozenset[date] = frozenset()
    leases: tuple[LeaseFacts, ...] = ()
    closed_weekday_dates: frozenset[date] = frozenset()
    dues_needed: bool = False
    work_asked: WorkAsked | None = None
    youths_an_adult: int = 1
    supervising_papers: frozenset[str] = frozenset()
    guest_sits: tuple[tuple[date, str], ...] = ()
    year_first_month: int = 7

    def lease_on(self, day: date) -> LeaseFacts | None:
        """The lease in force on a local date."""
        covering = (one for one in self.leases if one.first_date <= day <= one.last_date)
        return next(covering, None)
