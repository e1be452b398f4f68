"""All the facts of one moment, indexed so that many proposals are judged against them."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import TypeVar

from properties.sessions.kinds import SessionKey
from scheduling.rules.facts import (
    FitFacts,
    MemberFacts,
    NeighbourUse,
    PropertyFacts,
    SessionAt,
    SessionFacts,
    SitProposal,
    StandFacts,
)
from scheduling.rules.uses import Use

Key = TypeVar("Key")
Value = TypeVar("Value")


@dataclass(frozen=True, kw_only=True)
class BookingFacts:
    """A snapshot to judge proposals by; their order within it never matters.

    ``now`` has an offset. ``uses`` are past and coming uses of stands, one for each stand
    and session; ``neighbours`` are the sits behind the coming ones. Every index is built
    once, at its first use, so that judging a proposal never scans all uses. Raises
    ``ValueError`` for a naive ``now``, for something listed twice, or for a use of a stand
    that is not listed.
    """

    now: datetime
    properties: tuple[PropertyFacts, ...]
    stands: tuple[StandFacts, ...]
    members: tuple[MemberFacts, ...]
    sessions: tuple[SessionFacts, ...] = ()
    fits: tuple[FitFacts, ...] = ()
    uses: tuple[Use, ...] = ()
    neighbours: tuple[NeighbourUse, ...] = ()

    def __post_init__(self) -> None:
        if self.now.utcoffset() is None:
            raise ValueError("now must carry an offset")
        unknown = {use.stand_id for use in self.uses} - self._stands.keys()
        if unknown:
            raise ValueError(f"uses of stands that are not listed: {sorted(unknown)}")
        if len(self._uses) != len(self.uses):
            raise ValueError("one stand in one session is one use, and is listed once")

    def stand(self, stand_id: str) -> StandFacts:
        return self._stands[stand_id]

    def member(self, member_id: str) -> MemberFacts:
        return self._members[member_id]

    def property_of(self, stand: StandFacts) -> PropertyFacts:
        return self._properties[stand.property_id]

    def session(self, property_id: str, session: SessionKey) -> SessionFacts | None:
        """The session there; None where the sun gives none."""
        return self._sessions.get((property_id, session))

    def sessions_of(self, proposal: SitProposal) -> tuple[SessionFacts, ...]:
        """The proposal's sessions in order of time, without those the sun does not give."""
        property_id = self.stand(proposal.stand_id).property_id
        found = (self.session(property_id, key) for key in sorted(proposal.sessions))
        return tuple(session for session in found if session is not None)

    def fit(self, stand_id: str, session: SessionKey) -> FitFacts | None:
        return self._fits.get((stand_id, session))

    def use(self, stand_id: str, session: SessionKey) -> Use | None:
        return self._uses.get((stand_id, session))

    def uses_of(self, stand_id: str) -> tuple[Use, ...]:
        """Uses of one stand in order of time."""
        return self._uses_by_stand.get(stand_id, ())

    def uses_in_week(self, property_id: str, week: date) -> tuple[Use, ...]:
        """Uses on a property in the week that begins on the Monday ``week``."""
        return self._uses_by_week.get((property_id, week), ())

    def neighbours_in(self, property_id: str, session: SessionKey) -> tuple[NeighbourUse, ...]:
        """Sits on a property in a session, by the name of their stand."""
        return self._neighbours.get((property_id, session), ())

    @cached_property
    def _properties(self) -> Mapping[str, PropertyFacts]:
        return _once((place.property_id, place) for place in self.properties)

    @cached_property
    def _stands(self) -> Mapping[str, StandFacts]:
        return _once((stand.stand_id, stand) for stand in self.stands)

    @cached_property
    def _members(self) -> Mapping[str, MemberFacts]:
        return _once((member.member_id, member) for member in self.members)

    @cached_property
    def _sessions(self) -> Mapping[SessionAt, SessionFacts]:
        return _once(((there.property_id, there.session), there) for there in self.sessions)

    @cached_property
    def _fits(self) -> Mapping[SessionAt, FitFacts]:
        return _once(((fit.stand_id, fit.session), fit) for fit in self.fits)

    @cached_property
    def _uses(self) -> Mapping[SessionAt, Use]:
        return {(use.stand_id, use.session): use for use in self.uses}

    @cached_property
    def _uses_by_stand(self) -> Mapping[str, tuple[Use, ...]]:
        ordered = sorted(self.uses, key=lambda use: use.session)
        return _grouped((use.stand_id, use) for use in ordered)

    @cached_property
    def _uses_by_week(self) -> Mapping[tuple[str, date], tuple[Use, ...]]:
        ordered = sorted(self.uses, key=lambda use: (use.session, use.stand_id))
        return _grouped(
            ((self._stands[use.stand_id].property_id, monday_of(use.session.local_date)), use)
            for use in ordered
        )

    @cached_property
    def _neighbours(self) -> Mapping[SessionAt, tuple[NeighbourUse, ...]]:
        ordered = sorted(
            self.neighbours, key=lambda other: (other.stand_name, other.stand_id, other.first_name)
        )
        return _grouped(((other.property_id, other.session), other) for other in ordered)


def monday_of(day: date) -> date:
    """The Monday of the week (ISO 8601) in which ``day`` falls."""
    return date.fromordinal(day.toordinal() - day.weekday())


def _once(pairs: Iterable[tuple[Key, Value]]) -> dict[Key, Value]:
    found: dict[Key, Value] = {}
    for key, value in pairs:
        if key in found:
            raise ValueError(f"listed twice: {key}")
        found[key] = value
    return found


def _grouped(pairs: Iterable[tuple[Key, Value]]) -> dict[Key, tuple[Value, ...]]:
    groups: dict[Key, list[Value]] = defaultdict(list)
    for key, value in pairs:
        groups[key].append(value)
    return {key: tuple(values) for key, values in groups.items()}
