"""A plan laid out for the judges: its uses by stand, property and session, seats by member."""

from collections import defaultdict
from collections.abc import Iterable
from functools import cached_property
from typing import TypeVar

from properties.sessions.kinds import SessionKey
from scheduling.rotation.problem import PlanMember, RotationProblem, Seat
from scheduling.rules.uses import Use

Key = TypeVar("Key")
Value = TypeVar("Value")
Guests = tuple[str, ...]


class LaidOutPlan:
    """``halves`` are the plan's evenings that continue an all-day sit."""

    def __init__(self, problem: RotationProblem, seats: tuple[Seat, ...]) -> None:
        self.problem = problem
        self.seats = seats
        self.halves = {seat for seat in seats if problem.continues_morning(seat)}

    @cached_property
    def at(self) -> dict[tuple[str, SessionKey], list[Seat]]:
        found: dict[tuple[str, SessionKey], list[Seat]] = defaultdict(list)
        for seat in self.seats:
            found[seat.stand_id, seat.session].append(seat)
        return found

    @cached_property
    def uses(self) -> list[Use]:
        """The plan's uses and those outside it."""
        planned = [
            Use(
                stand_id=stand_id,
                session=session,
                sector_per_mille=self.chances(stand_id, session),
                hunters=sum(seat.hunters for seat in there),
                continues_morning=any(seat in self.halves for seat in there),
            )
            for (stand_id, session), there in self.at.items()
        ]
        return [*planned, *self.problem.uses_outside]

    @cached_property
    def uses_of_stand(self) -> dict[str, list[Use]]:
        return _grouped((use.stand_id, use) for use in self.uses)

    @cached_property
    def uses_on_property(self) -> dict[str, list[Use]]:
        return _grouped(
            (self.problem.stand_by_id[use.stand_id].property_id, use) for use in self.uses
        )

    @cached_property
    def uses_in_session(self) -> dict[SessionKey, list[Use]]:
        return _grouped((use.session, use) for use in self.uses)

    @cached_property
    def excluded(self) -> dict[tuple[str, SessionKey], dict[str, str]]:
        """For each stand and session, the stands excluded then and their names."""
        found: dict[tuple[str, SessionKey], dict[str, str]] = defaultdict(dict)
        for pair in self.problem.exclusions:
            for one, other in (pair.stand_ids, pair.stand_ids[::-1]):
                for session in pair.sessions or self.problem.sessions:
                    name = self.problem.stand_by_id[other].shown_name
                    found[one, session][other] = name
        return found

    @cached_property
    def _in_session(self) -> dict[SessionKey, list[Seat]]:
        return _grouped((seat.session, seat) for seat in self.seats)

    def seats_in(self, session: SessionKey) -> list[Seat]:
        """Everybody's seats in a session."""
        return self._in_session.get(session, [])

    @cached_property
    def seats_of_member(self) -> dict[str, list[Seat]]:
        return _grouped((seat.member_id, seat) for seat in self.seats)

    def chances(self, stand_id: str, session: SessionKey) -> tuple[int, ...]:
        outlook = self.problem.outlook_at.get((stand_id, session))
        return outlook.sector_per_mille if outlook else (0,) * self.problem.sectors

    def sits_of(self, member: PlanMember) -> int:
        own = self.seats_of_member.get(member.id, [])
        return sum(seat not in self.halves for seat in own)

    def own_uses(self, member: PlanMember, guests: Guests | None = None) -> list[Use]:
        """Uses of the member's own seats; with ``guests`` of those with these alone."""
        return [
            Use(
                stand_id=mine.stand_id,
                session=mine.session,
                sector_per_mille=(),
                continues_morning=mine in self.halves,
            )
            for mine in self.seats_of_member.get(member.id, [])
            if guests is None or mine.guest_ids == guests
        ]


def _grouped(pairs: Iterable[tuple[Key, Value]]) -> dict[Key, list[Value]]:
    found: dict[Key, list[Value]] = defaultdict(list)
    for key, value in pairs:
        found[key].append(value)
    return found
