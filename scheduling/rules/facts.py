"""The facts that the house rules judge by: plain values, one snapshot, no clock, no store.

Rooms above translate their rows into these. Ids are text; instants carry an offset; a
session's date is the property's local date.
"""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from properties.sessions.kinds import SessionKey, SessionKind


class Weapon(StrEnum):
    BOW = "bow"
    CROSSBOW = "crossbow"
    MUZZLELOADER = "muzzleloader"
    SHOTGUN = "shotgun"
    RIFLE = "rifle"


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

    With a ``session_kind`` only the sessions of that kind are closed.
    """

    starts_at: datetime
    ends_at: datetime | None = None
    reason: str = ""
    session_kind: SessionKind | None = None

    def touches(self, starts_at: datetime, ends_at: datetime) -> bool:
        """Whether it overlaps the half-open time from ``starts_at`` to ``ends_at``."""
        return self.starts_at < ends_at and (self.ends_at is None or self.ends_at > starts_at)


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
class PaperFacts:
    """A licence, waiver or certificate; ``valid_until`` is its last valid day (None: no end)."""

    kind: str
    valid_from: date | None = None
    valid_until: date | None = None


@dataclass(frozen=True, kw_only=True)
class RoleFacts:
    """A role that lets its holder sit on one property; ``until`` is its last day (None: no end)."""

    property_id: str
    role: str
    since: date | None = None
    until: date | None = None


@dataclass(frozen=True, kw_only=True)
class ClaimFacts:
    """A seat this person already holds; an all-day sit is two claims with one ``sit_id``."""

    sit_id: str
    stand_id: str
    stand_name: str
    property_id: str
    session: SessionKey


@dataclass(frozen=True, kw_only=True)
class MissedSit:
    local_date: date
    stand_name: str


@dataclass(frozen=True, kw_only=True)
class MissingReport:
    """A sit that ended at ``ended_at`` and has no report yet."""

    local_date: date
    stand_name: str
    ended_at: datetime


@dataclass(frozen=True, kw_only=True)
class MemberFacts:
    """A member, or a guest with their host: a person with papers, roles and claims.

    ``youth_until`` is the last day on which somebody counts as a young hunter (None: they do
    not). ``open_dues`` are the dates by which unpaid dues were owed, ``work`` the dates and
    hours of work done. ``joined_on`` is None for whoever is no member.
    """

    member_id: str
    name: str
    papers: tuple[PaperFacts, ...] = ()
    roles: tuple[RoleFacts, ...] = ()
    claims: tuple[ClaimFacts, ...] = ()
    missed_sits: tuple[MissedSit, ...] = ()
    missing_reports: tuple[MissingReport, ...] = ()
    youth_until: date | None = None
    joined_on: date | None = None
    open_dues: tuple[date, ...] = ()
    work: tuple[tuple[date, float], ...] = ()

    def is_youth_on(self, day: date) -> bool:
        return self.youth_until is not None and day <= self.youth_until


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


@dataclass(frozen=True, kw_only=True)
class SessionFacts:
    """A session at a property: its window as UTC instants, and the weather's own dangers.

    A session that the sun does not give (no sunrise there that day) is not listed at all.
    ``thunder_chance`` 0..1; ``fire_danger`` 1 (low) to 5 (extreme); ``river_stage_m`` the
    highest gauge height read or forecast, ``has_ice`` whether ice was reported on ladders
    and steps. None: not known.
    """

    property_id: str
    session: SessionKey
    starts_at: datetime
    ends_at: datetime
    sunrise_at: datetime | None = None
    sunset_at: datetime | None = None
    thunder_chance: float | None = None
    fire_danger: int | None = None
    river_stage_m: float | None = None
    has_ice: bool = False


@dataclass(frozen=True, kw_only=True)
class FitFacts:
    """How the wind suits a stand in a session.

    ``fit`` and ``worst_place`` are shares 0..1. ``worst_feature`` and ``worst_hour`` name
    what spoils it and when (local time, as shown). Without a listed fit, or with
    ``is_unknown``, no forecast reaches the session; ``reason`` then says why.
    """

    stand_id: str
    session: SessionKey
    fit: float = 0.0
    worst_place: float = 0.0
    worst_feature: str = ""
    worst_hour: str = ""
    reason: str = ""
    sector_per_mille: tuple[int, ...] = ()
    gust_mps: float | None = None
    is_unknown: bool = False


@dataclass(frozen=True, kw_only=True)
class NeighbourUse:
    """Another sit of the same session, as far as a neighbour may know of it."""

    stand_id: str
    stand_name: str
    property_id: str
    session: SessionKey
    first_name: str = ""
    weapon: str | None = None


@dataclass(frozen=True, kw_only=True)
class SitProposal:
    """One member, with guests, wants one stand for a session, or for two: all day.

    Sessions are kept in order of time and guests in order of id. Raises ``ValueError`` unless
    there is one session or both of one day, and each person is named once.
    """

    member_id: str
    stand_id: str
    sessions: tuple[SessionKey, ...]
    guest_ids: tuple[str, ...] = ()
    weapon: str | None = None

    def __post_init__(self) -> None:
        if len(self.sessions) == 1 and self.guest_ids == ():
            return
        if len(self.sessions) not in (1, 2) or len(set(self.sessions)) != len(self.sessions):
            raise ValueError("a sit takes one session, or the two of one day")
        if len({session.local_date for session in self.sessions}) != 1:
            raise ValueError("an all-day sit takes both sessions of one day")
        if len(set(self.people)) != len(self.people):
            raise ValueError("each person in a session's party is named once")
        in_time = tuple(sorted(self.sessions, key=lambda session: session.order))
        object.__setattr__(self, "sessions", in_time)
        object.__setattr__(self, "guest_ids", tuple(sorted(self.guest_ids)))

    @property
    def local_date(self) -> date:
        return self.sessions[0].local_date

    @property
    def seats(self) -> int:
        """Seats taken: the member's and one for each guest."""
        return 1 + len(self.guest_ids)

    @property
    def people(self) -> tuple[str, ...]:
        return (self.member_id, *self.guest_ids)


@dataclass(frozen=True, kw_only=True)
class Exclusion:
    """Two stands that are not used together; in one session, or in all (None)."""

    stand_id: str
    other_stand_id: str
    session: SessionKey | None = None


@dataclass(frozen=True, kw_only=True)
class DangerArc:
    """``other_stand_id`` lies in the arc of ``stand_id``, within reach of these ``weapons``."""

    stand_id: str
    other_stand_id: str
    weapons: frozenset[str]


SessionAt = tuple[str, SessionKey]
"""A property's or a stand's id with a session."""
