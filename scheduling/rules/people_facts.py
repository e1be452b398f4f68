"""Those who sit, as the house rules see them: their papers, roles, seats and dues."""

from dataclasses import dataclass
from datetime import date, datetime

from properties.sessions.kinds import SessionKey


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
