"""A finished plan laid out for counting."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rotation.problem import PlanStand, RotationProblem, Seat
from scheduling.rules.uses import Use


@dataclass(frozen=True, kw_only=True)
class Violation:
    """A rule broken by ``seats``. ``only_bookings``: the plan added none of them."""

    code: str
    sentence: str
    seats: tuple[Seat, ...]
    only_bookings: bool


class Tally:
    """The plan's seats by stand, session and member; ``halves`` are evenings that go on."""

    def __init__(self, problem: RotationProblem, seats: Iterable[Seat]) -> None:
        self.problem = problem
        self.given = list(seats)
        self.seats = sorted(set(self.given), key=lambda seat: seat.sort_key)
        self.locked = set(problem.locked)
        self.wished_days = {
            (member.id, wish.guest_ids, day)
            for member in problem.members
            for wish in member.wish_with.values()
            for day in wish.all_day_on
        }
        self.planned_halves = {
            seat
            for seat in self.seats
            if self.is_of_wished_day(seat) and seat.session.kind is SessionKind.EVENING
        }
        self.halves = set(problem.evening_halves) | self.planned_halves
        self.at: dict[tuple[str, SessionKey], list[Seat]] = defaultdict(list)
        self.in_session: dict[SessionKey, list[Seat]] = defaultdict(list)
        self.by_member: dict[str, list[Seat]] = defaultdict(list)
        for seat in self.seats:
            self.at[seat.stand_id, seat.session].append(seat)
            self.in_session[seat.session].append(seat)
            self.by_member[seat.member_id].append(seat)
        self._sessions: dict[str, list[SessionKey]] = defaultdict(list)
        for (stand_id, session), there in self.at.items():
            if not any(seat in self.halves for seat in there):
                self._sessions[stand_id].append(session)
        self._uses_outside: dict[str, list[Use]] = defaultdict(list)
        for use in problem.uses_outside:
            if not use.continues_morning:
                self._uses_outside[use.stand_id].append(use)

    def is_of_wished_day(self, seat: Seat) -> bool:
        day = (seat.member_id, seat.guest_ids, seat.session.local_date)
        return day in self.wished_days

    def sessions_of(self, stand: PlanStand) -> list[SessionKey]:
        """Sessions in which the plan uses the stand anew, in order of time."""
        return sorted(self._sessions.get(stand.id, []), key=lambda session: session.order)

    def outside(self, stand: PlanStand) -> list[Use]:
        """Uses of the stand outside the plan, but for evenings that went on."""
        return self._uses_outside.get(stand.id, [])

    def behind(self, stand_id: str, session: SessionKey) -> list[Seat]:
        """The seats that make a use: bookings if there are any, for the rest only join them."""
        there = self.at[stand_id, session]
        return [seat for seat in there if seat in self.locked] or there

    def hunters(self, seats: Iterable[Seat]) -> int:
        return sum(1 + len(seat.guest_ids) for seat in seats)

    def found(self, code: str, sentence: str, seats: Sequence[Seat]) -> Violation:
        return Violation(
            code=code,
            sentence=sentence,
            seats=tuple(seats),
            only_bookings=bool(seats) and self.locked.issuperset(seats),
        )


def monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
