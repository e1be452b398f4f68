"""The facts that the house rules judge by: plain values, one snapshot, no clock, no store.

Rooms above translate their rows into these. Ids are text; instants carry an offset; a
session's date is the property's local date.
"""

from dataclasses import dataclass
from datetime import date, datetime

from properties.sessions.kinds import SessionKey
from scheduling.rules.ground_facts import (
    Closure,
    HazardFacts,
    HazardKind,
    LeaseFacts,
    PropertyFacts,
    SeasonFacts,
    ShootingArc,
    StandFacts,
    WorkAsked,
)
from scheduling.rules.people_facts import (
    ClaimFacts,
    MemberFacts,
    MissedSit,
    MissingReport,
    PaperFacts,
    RoleFacts,
)

__all__ = [
    "ClaimFacts",
    "Closure",
    "DangerArc",
    "Exclusion",
    "FitFacts",
    "HazardFacts",
    "HazardKind",
    "LeaseFacts",
    "MemberFacts",
    "MissedSit",
    "MissingReport",
    "NeighbourUse",
    "PaperFacts",
    "PropertyFacts",
    "RoleFacts",
    "SeasonFacts",
    "SessionAt",
    "SessionFacts",
    "ShootingArc",
    "SitProposal",
    "StandFacts",
    "WorkAsked",
]


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

    ``fit`` and ``worst_place`` are shares 0..1. ``worst_feature`` names
    what is spoiled most. Without a listed fit, or with
    ``is_unknown``, no forecast reaches the session; ``reason`` then says why.
    """

    stand_id: str
    session: SessionKey
    fit: float = 0.0
    worst_place: float = 0.0
    worst_feature: str = ""
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
