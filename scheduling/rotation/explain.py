"""Why not me? For each wish a plan left out, what stood in the way at each stand.

The same judges that refuse a booking are asked about each seat the member could have had,
with the plan as it stands. ``check`` sets their answers against the audit's own counting.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from properties.sessions.kinds import SessionKey
from scheduling.rules import (
    capacity,
    exclusion,
    member_limits,
    pressure,
    property_cap,
    rest,
    same_wind,
    weekly_limit,
)
from scheduling.rules.refusal import Refusal
from scheduling.rules.snapshot import monday_of
from scheduling.rules.uses import Use
from scheduling.rules.words import session_words

from .audit import audit
from .conflicts import NOT_OFFERED_CODE
from .problem import Outlook, PlanMember, PlanStand, RotationProblem, Seat

Key = TypeVar("Key")
Value = TypeVar("Value")

STILL_OPEN_CODE = "still_open"


@dataclass(frozen=True, kw_only=True)
class Obstacle:
    """What kept a member from one seat: a rule, and the other members' seats behind it.

    ``code`` and ``sentence`` are the rule's own. ``in_the_way`` are seats of the plan that,
    gone, might have made room; empty where no member stood in the way.
    """

    seat: Seat
    code: str
    sentence: str
    in_the_way: tuple[Seat, ...]


@dataclass(frozen=True, kw_only=True)
class UnmetWish:
    """A member with fewer sits than asked for, and every obstacle at every stand wanted."""

    member_id: str
    sits_requested: int
    sits: int
    obstacles: tuple[Obstacle, ...]

    @property
    def sentence(self) -> str:
        if not self.obstacles:
            return (
                f"You asked for {self.sits_requested} and have {self.sits}: you are not free in "
                "any session in which a stand you may use is planned."
            )
        return (
            f"You asked for {self.sits_requested} and have {self.sits}. Below is what stood in "
            "the way at each stand in each session you are free."
        )


def explain(problem: RotationProblem, seats: Iterable[Seat]) -> tuple[UnmetWish, ...]:
    """For each member short of sits in the plan ``seats``, what stood in the way."""
    plan = _Plan(problem, tuple(seats))
    return tuple(
        UnmetWish(
            member_id=member.id,
            sits_requested=member.sits_requested,
            sits=plan.sits_of(member),
            obstacles=tuple(plan.obstacles_for(member)),
        )
        for member in problem.members
        if plan.sits_of(member) < member.sits_requested
    )


def check(
    problem: RotationProblem, seats: Iterable[Seat], wishes: Iterable[UnmetWish]
) -> list[str]:
    """Where explanation and audit disagree; empty when every obstacle is real.

    Adding an explained seat must make the audit find the very rule that was named; a seat
    for which no rule was named must add no violation.
    """
    plan = tuple(seats)
    known = {(v.code, v.sentence) for v in audit(problem, plan)}
    faults = []
    for wish in wishes:
        named: dict[Seat, set[str]] = defaultdict(set)
        for obstacle in wish.obstacles:
            named[obstacle.seat].add(obstacle.code)
        for seat, codes in named.items():
            added = audit(problem, (*plan, seat))
            found = {v.code for v in added if (v.code, v.sentence) not in known}
            if found != codes - {STILL_OPEN_CODE}:
                faults.append(f"{seat}: named {sorted(codes)}, counted {sorted(found)}")
    return faults


class _Plan:
    def __init__(self, problem: RotationProblem, seats: tuple[Seat, ...]) -> None:
        self.problem = problem
        self.seats = seats
        self.halves = set(problem.evening_halves)

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
                sector_per_mille=self._chances(stand_id, session),
                hunters=sum(self.problem.member_by_id[seat.member_id].party for seat in there),
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
    def seats_of_member(self) -> dict[str, list[Seat]]:
        return _grouped((seat.member_id, seat) for seat in self.seats)

    def _chances(self, stand_id: str, session: SessionKey) -> tuple[int, ...]:
        outlook = self.problem.outlook_at.get((stand_id, session))
        return outlook.sector_per_mille if outlook else (0,) * self.problem.sectors

    def sits_of(self, member: PlanMember) -> int:
        own = self.seats_of_member.get(member.id, [])
        return sum(seat not in self.halves for seat in own)

    def obstacles_for(self, member: PlanMember) -> Iterator[Obstacle]:
        own = set(self.seats_of_member.get(member.id, []))
        for session in sorted(member.available, key=lambda session: session.order):
            for stand in self._wanted(member):
                outlook = self.problem.outlook_at.get((stand.id, session))
                seat = Seat(member.id, stand.id, session)
                if seat not in own and session in self.problem.sessions:
                    yield from self._obstacles(seat, stand, outlook)

    def _wanted(self, member: PlanMember) -> list[PlanStand]:
        return [
            stand
            for stand in self.problem.stands
            if stand.property_id in member.properties
            and member.preference_percent.get(stand.id, 100) > 0
        ]

    def _closed(self, stand: PlanStand, session: SessionKey, outlook: Outlook | None) -> str:
        """Why the stand is not offered to anybody then; empty where it is."""
        if outlook is None:
            return f"No forecast reaches stand {stand.shown_name} in {session_words(session)}."
        if self.problem.is_open(outlook):
            return ""
        return outlook.closed_because or (
            f"The wind does not suit stand {stand.shown_name} in {session_words(session)}: "
            f"fit {outlook.fit_percent} %, needed {self.problem.fit_floor_percent} %."
        )

    def _obstacles(
        self, seat: Seat, stand: PlanStand, outlook: Outlook | None
    ) -> Iterator[Obstacle]:
        closed = self._closed(stand, seat.session, outlook)
        if closed:
            yield Obstacle(seat=seat, code=NOT_OFFERED_CODE, sentence=closed, in_the_way=())
        refusals = list(self._refusals(seat, stand))
        for refusal in refusals:
            yield Obstacle(
                seat=seat,
                code=refusal.code,
                sentence=refusal.sentence,
                in_the_way=self._in_the_way(seat, stand, refusal.code),
            )
        if not refusals and not closed:
            yield Obstacle(
                seat=seat,
                code=STILL_OPEN_CODE,
                sentence=f"No rule forbids stand {stand.shown_name} in "
                f"{session_words(seat.session)}: it could still be booked.",
                in_the_way=(),
            )

    def _refusals(self, seat: Seat, stand: PlanStand) -> Iterator[Refusal]:
        member, session = self.problem.member_by_id[seat.member_id], seat.session
        there = self.uses_of_stand.get(stand.id, [])
        own = [
            Use(
                stand_id=mine.stand_id,
                session=mine.session,
                sector_per_mille=(),
                continues_morning=mine in self.halves,
            )
            for mine in self.seats_of_member.get(member.id, [])
        ]
        cap = self.problem.same_wind_cap
        judged = (
            rest.refusal(stand_id=stand.id, session=session, uses=there, rest_days=stand.rest_days),
            None
            if cap is None
            else same_wind.refusal(
                stand_id=stand.id,
                session=session,
                sector_per_mille=self._chances(stand.id, session),
                uses=there,
                cap=cap,
                window_days=self.problem.same_wind_window_days,
            ),
            exclusion.refusal(
                session=session,
                uses=self.uses_in_session.get(session, []),
                excluded=self.excluded.get((stand.id, session), {}),
            ),
            capacity.refusal(
                stand_id=stand.id,
                session=session,
                uses=there,
                capacity=stand.capacity,
                hunters=member.party,
            ),
            property_cap.refusal(
                session=session,
                uses_on_property=self.uses_on_property.get(stand.property_id, []),
                cap=self.problem.property_by_id[stand.property_id].hunters_a_session,
                hunters=member.party,
            ),
            pressure.planned_refusal(
                session=session,
                uses_on_property=self.uses_on_property.get(stand.property_id, []),
                is_used=any(use.session == session for use in there),
                uses_a_week=self.problem.property_by_id[stand.property_id].uses_a_week,
                property_name="The property",
            ),
            weekly_limit.planned_refusal(
                session=session,
                own_uses=own,
                held_by_week=member.sits_held_by_week,
                weekly_sits=member.sits_a_week,
            ),
            member_limits.session_refusal(session=session, own_uses=own),
            member_limits.day_refusal(
                session=session, own_uses=own, sits_per_day=member.sits_per_day
            ),
            member_limits.total_refusal(own_uses=own, sits_requested=member.sits_requested),
        )
        yield from (refusal for refusal in judged if refusal is not None)

    def _in_the_way(self, seat: Seat, stand: PlanStand, code: str) -> tuple[Seat, ...]:
        """Seats of the plan that the rule ``code`` counts against ``seat``."""
        day = seat.session.local_date
        reach = {
            rest.CODE: stand.rest_days,
            same_wind.CODE: self.problem.same_wind_window_days,
        }
        excluded = self.excluded.get((stand.id, seat.session), {})

        def stands_in_the_way(other: Seat) -> bool:
            same_session = other.session == seat.session
            if code in reach:
                apart = abs((other.session.local_date - day).days)
                return other.stand_id == stand.id and apart < reach[code]
            place = self.problem.stand_by_id[other.stand_id].property_id
            same_week = monday_of(other.session.local_date) == monday_of(day)
            own = other.member_id == seat.member_id
            counted = {
                exclusion.CODE: same_session and other.stand_id in excluded,
                capacity.CODE: same_session and other.stand_id == stand.id,
                property_cap.CODE: same_session and place == stand.property_id,
                pressure.WEEK_BUDGET.code: same_week and place == stand.property_id,
                weekly_limit.WEEKLY_LIMIT.code: same_week and own,
                member_limits.TOTAL_CODE: own,
            }
            return counted.get(code, own and other.session.local_date == day)

        return tuple(other for other in self.seats if stands_in_the_way(other))


def _grouped(pairs: Iterable[tuple[Key, Value]]) -> dict[Key, list[Value]]:
    found: dict[Key, list[Value]] = defaultdict(list)
    for key, value in pairs:
        found[key].append(value)
    return found
