"""All the facts of one moment, indexed so that many proposals are judged against them."""

from bisect import bisect_left, bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import TypeVar
from zoneinfo import ZoneInfo

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rules.facts import (
    ClaimFacts,
    DangerArc,
    Exclusion,
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
    ``ValueError`` for a naive ``now``, for something listed twice, or for a use, an
    exclusion or a danger arc of a stand that is not listed.
    """

    now: datetime
    properties: tuple[PropertyFacts, ...]
    stands: tuple[StandFacts, ...]
    members: tuple[MemberFacts, ...]
    sessions: tuple[SessionFacts, ...] = ()
    fits: tuple[FitFacts, ...] = ()
    uses: tuple[Use, ...] = ()
    neighbours: tuple[NeighbourUse, ...] = ()
    exclusions: tuple[Exclusion, ...] = ()
    danger_arcs: tuple[DangerArc, ...] = ()

    def __post_init__(self) -> None:
        if self.now.utcoffset() is None:
            raise ValueError("now must carry an offset")
        # Touching an index builds it, and building it finds what is listed twice.
        _ = self._properties, self._stands, self._members, self._sessions, self._fits
        named = {use.stand_id for use in self.uses}
        pairs: tuple[Exclusion | DangerArc, ...] = (*self.exclusions, *self.danger_arcs)
        named |= {one for pair in pairs for one in (pair.stand_id, pair.other_stand_id)}
        unknown = named - self._stands.keys()
        if unknown:
            raise ValueError(f"stands that are not listed: {sorted(unknown)}")
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
        place = self.stand(proposal.stand_id).property_id, proposal.sessions
        found = self._sessions_of.get(place)
        if found is None:
            there = (self.session(place[0], key) for key in proposal.sessions)
            found = tuple(session for session in there if session is not None)
            self._sessions_of[place] = found
        return found

    def today_at(self, place: PropertyFacts) -> date:
        """The property's local date at ``now``."""
        found = self._today.get(place.time_zone)
        if found is None:
            found = self.now.astimezone(ZoneInfo(place.time_zone)).date()
            self._today[place.time_zone] = found
        return found

    def fit(self, stand_id: str, session: SessionKey) -> FitFacts | None:
        return self._fits.get((stand_id, session))

    def use(self, stand_id: str, session: SessionKey) -> Use | None:
        return self._uses.get((stand_id, session))

    def is_used(self, session: SessionKey) -> bool:
        """Whether any stand listed is used in the session."""
        return session in self._used

    def uses_of(self, stand_id: str) -> tuple[Use, ...]:
        """Uses of one stand in order of time."""
        return self._uses_by_stand.get(stand_id, ())

    def uses_around(self, stand_id: str, day: date, *, days: int) -> tuple[Use, ...]:
        """Uses of one stand from so many ``days`` before ``day`` to so many after it."""
        uses = self.uses_of(stand_id)
        if not uses:
            return ()
        ordinals = self._ordinals[stand_id]
        first = bisect_left(ordinals, day.toordinal() - days)
        last = bisect_right(ordinals, day.toordinal() + days)
        return uses[first:last]

    def longest_rest_asked(self, stand_id: str) -> int:
        """The longest rest in days that a use of this stand asks for itself; 0: none does."""
        return self._longest_rest.get(stand_id, 0)

    def uses_on(self, property_id: str, session: SessionKey) -> tuple[Use, ...]:
        """Uses on a property in one session, by stand."""
        return self._uses_by_session.get((property_id, session), ())

    def counted_in_week(self, property_id: str, week: date) -> int:
        """How many uses count on a property in the week that begins on the Monday ``week``."""
        return self._counted_by_week[property_id, week]

    def own_uses(self, member_id: str) -> tuple[Use, ...]:
        """The seats a person holds, as uses in order of time; winds are left empty."""
        return self._own_uses[member_id]

    def excluded_with(self, stand_id: str, session: SessionKey) -> Mapping[str, str]:
        """Ids and names of the stands not used together with this one in that session."""
        always = self._excluded.get((stand_id, None), ())
        then = self._excluded.get((stand_id, session), ())
        return {other_id: self._stands[other_id].name for other_id in (*always, *then)}

    def in_danger_with(self, stand_id: str) -> tuple[str, ...]:
        """Ids of the stands of which one may be in the other's danger arc, each once."""
        return self._in_danger.get(stand_id, ())

    def danger_weapons(self, stand_id: str, other_stand_id: str) -> frozenset[str]:
        """The weapons with which a sit on ``stand_id`` endangers the other stand."""
        return self._danger_weapons.get((stand_id, other_stand_id), frozenset())

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
    def _used(self) -> frozenset[SessionKey]:
        return frozenset(use.session for use in self.uses)

    @cached_property
    def _sessions_of(
        self,
    ) -> dict[tuple[str, tuple[SessionKey, ...]], tuple[SessionFacts, ...]]:
        return {}

    @cached_property
    def _today(self) -> dict[str, date]:
        return {}

    @cached_property
    def _uses_by_stand(self) -> Mapping[str, tuple[Use, ...]]:
        ordered = sorted(self.uses, key=lambda use: use.session.order)
        return _grouped((use.stand_id, use) for use in ordered)

    @cached_property
    def _ordinals(self) -> Mapping[str, tuple[int, ...]]:
        return {
            stand_id: tuple(use.session.local_date.toordinal() for use in uses)
            for stand_id, uses in self._uses_by_stand.items()
        }

    @cached_property
    def _longest_rest(self) -> Mapping[str, int]:
        return {
            stand_id: max(use.rest_days or 0 for use in uses)
            for stand_id, uses in self._uses_by_stand.items()
        }

    @cached_property
    def _uses_by_session(self) -> Mapping[SessionAt, tuple[Use, ...]]:
        ordered = sorted(self.uses, key=lambda use: use.stand_id)
        return _grouped(
            ((self._stands[use.stand_id].property_id, use.session), use) for use in ordered
        )

    @cached_property
    def _counted_by_week(self) -> Counter[tuple[str, date]]:
        return Counter(
            (self._stands[use.stand_id].property_id, monday_of(use.session.local_date))
            for use in self.uses
            if not use.continues_morning
        )

    @cached_property
    def _own_uses(self) -> Mapping[str, tuple[Use, ...]]:
        return {member.member_id: _as_uses(member.claims) for member in self.members}

    @cached_property
    def _excluded(self) -> Mapping[tuple[str, SessionKey | None], tuple[str, ...]]:
        pairs = [
            ((one, pair.session), other)
            for pair in self.exclusions
            for one, other in (
                (pair.stand_id, pair.other_stand_id),
                (pair.other_stand_id, pair.stand_id),
            )
        ]
        return _grouped(pairs)

    @cached_property
    def _danger_weapons(self) -> Mapping[tuple[str, str], frozenset[str]]:
        return _once(((arc.stand_id, arc.other_stand_id), arc.weapons) for arc in self.danger_arcs)

    @cached_property
    def _in_danger(self) -> Mapping[str, tuple[str, ...]]:
        pairs = {tuple(sorted(pair)) for pair in self._danger_weapons}
        both_ways = [(one, other) for pair in pairs for one, other in (pair, pair[::-1])]
        return _grouped(sorted(both_ways))

    @cached_property
    def _neighbours(self) -> Mapping[SessionAt, tuple[NeighbourUse, ...]]:
        ordered = sorted(
            self.neighbours, key=lambda other: (other.stand_name, other.stand_id, other.first_name)
        )
        return _grouped(((other.property_id, other.session), other) for other in ordered)


def monday_of(day: date) -> date:
    """The Monday of the week (ISO 8601) in which ``day`` falls."""
    return date.fromordinal(day.toordinal() - day.weekday())


def _as_uses(claims: Iterable[ClaimFacts]) -> tuple[Use, ...]:
    claims = sorted(claims, key=lambda claim: (claim.session.order, claim.stand_id))
    mornings = {claim.sit_id for claim in claims if claim.session.kind is SessionKind.MORNING}
    return tuple(
        Use(
            stand_id=claim.stand_id,
            session=claim.session,
            sector_per_mille=(),
            continues_morning=claim.session.kind is SessionKind.EVENING
            and claim.sit_id in mornings,
        )
        for claim in claims
    )


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
