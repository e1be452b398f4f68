"""Why not me? For each wish a plan left out, what stood in the way at each stand.

The same judges that refuse a booking are asked about each seat the member could have had,
with the plan as it stands. ``check`` sets their answers against the audit's own counting.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from properties.sessions.kinds import SessionKey, SessionKind
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
from .candidates import other_half
from .conflicts import NOT_OFFERED_CODE
from .problem import Outlook, PlanMember, PlanStand, RotationProblem, Seat

Key = TypeVar("Key")
Value = TypeVar("Value")

STILL_OPEN_CODE = "still_open"
JOINS_ALL_DAY_CODE = "joins_all_day"


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
            named[wished_together(problem, obstacle.seat)[0]].add(obstacle.code)
        for seat, codes in named.items():
            added = audit(problem, (*plan, *wished_together(problem, seat)))
            found = {v.code for v in added if (v.code, v.sentence) not in known}
            if found != codes - {STILL_OPEN_CODE}:
                faults.append(f"{seat}: named {sorted(codes)}, counted {sorted(found)}")
    return faults


def wished_together(problem: RotationProblem, seat: Seat) -> tuple[Seat, ...]:
    """The seat, with the other half of its day where the day is wished as a whole."""
    if not problem.is_of_wished_day(seat):
        return (seat,)
    return tuple(sorted((seat, other_half(seat)), key=lambda half: half.sort_key))


class _Plan:
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
        mornings = [SessionKey(day, SessionKind.MORNING) for day in member.all_day_on]
        for session in sorted({*member.available, *mornings}, key=lambda session: session.order):
            for stand in self._wanted(member):
                seat = Seat(member.id, stand.id, session)
                if seat not in own and session in self.problem.sessions:
                    yield from self._obstacles(wished_together(self.problem, seat), stand)

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

    def _obstacles(self, together: tuple[Seat, ...], stand: PlanStand) -> Iterator[Obstacle]:
        found = [
            obstacle for seat in together for obstacle in self._obstacles_at(seat, together, stand)
        ]
        yield from found
        if not found:
            seat = together[0]
            yield Obstacle(
                seat=seat,
                code=STILL_OPEN_CODE,
                sentence=f"No rule forbids stand {stand.shown_name} in "
                f"{session_words(seat.session)}: it could still be booked.",
                in_the_way=(),
            )

    def _obstacles_at(
        self, seat: Seat, together: tuple[Seat, ...], stand: PlanStand
    ) -> Iterator[Obstacle]:
        outlook = self.problem.outlook_at.get((stand.id, seat.session))
        closed = self._closed(stand, seat.session, outlook)
        if closed:
            yield Obstacle(seat=seat, code=NOT_OFFERED_CODE, sentence=closed, in_the_way=())
        going_on = seat != together[0]
        # The evening of a whole day continues its morning, whoever sat there anew before.
        evening = together[1].session if len(together) > 1 and not going_on else None
        refusals = [
            *self._refusals_of_place(seat, stand),
            *self._joins_half_way(seat, stand, going_on),
            *([] if going_on else self._refusals_of_use(seat, stand, evening)),
        ]
        for refusal in refusals:
            yield Obstacle(
                seat=seat,
                code=refusal.code,
                sentence=refusal.sentence,
                in_the_way=self._in_the_way(seat, stand, refusal.code),
            )

    def _joins_half_way(self, seat: Seat, stand: PlanStand, going_on: bool) -> Iterator[Refusal]:
        """An all-day sit of the plan is joined in the evening by nobody but for all day."""
        there = self.at[stand.id, seat.session]
        bookings = set(self.problem.evening_halves)
        if any(other in bookings for other in there):
            return
        joined = [other for other in there if (other in self.halves) != going_on]
        if joined:
            yield Refusal(
                code=JOINS_ALL_DAY_CODE,
                sentence=f"Stand {stand.shown_name} is planned for an all-day sit, and nobody "
                f"comes to it in {session_words(seat.session)} only.",
            )

    def _refusals_of_place(self, seat: Seat, stand: PlanStand) -> Iterator[Refusal]:
        member, session = self.problem.member_by_id[seat.member_id], seat.session
        judged = (
            exclusion.refusal(
                session=session,
                uses=self.uses_in_session.get(session, []),
                excluded=self.excluded.get((stand.id, session), {}),
            ),
            capacity.refusal(
                stand_id=stand.id,
                session=session,
                uses=self.uses_of_stand.get(stand.id, []),
                capacity=stand.capacity,
                hunters=member.party,
            ),
            property_cap.refusal(
                session=session,
                uses_on_property=self.uses_on_property.get(stand.property_id, []),
                cap=self.problem.property_by_id[stand.property_id].hunters_a_session,
                hunters=member.party,
            ),
            member_limits.session_refusal(session=session, own_uses=self._own_uses(member)),
        )
        yield from (refusal for refusal in judged if refusal is not None)

    def _own_uses(self, member: PlanMember) -> list[Use]:
        return [
            Use(
                stand_id=mine.stand_id,
                session=mine.session,
                sector_per_mille=(),
                continues_morning=mine in self.halves,
            )
            for mine in self.seats_of_member.get(member.id, [])
        ]

    def _refusals_of_use(
        self, seat: Seat, stand: PlanStand, without: SessionKey | None
    ) -> Iterator[Refusal]:
        """Rules that count uses and sits; a use of the stand in ``without`` is not counted."""
        member, session = self.problem.member_by_id[seat.member_id], seat.session
        there = [use for use in self.uses_of_stand.get(stand.id, []) if use.session != without]
        on_property = [
            use
            for use in self.uses_on_property.get(stand.property_id, [])
            if use.stand_id != stand.id or use.session != without
        ]
        own = self._own_uses(member)
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
                cap=cap + stand.same_wind_excess,
                window_days=self.problem.same_wind_window_days,
            ),
            pressure.planned_refusal(
                session=session,
                uses_on_property=on_property,
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
                JOINS_ALL_DAY_CODE: same_session and other.stand_id == stand.id,
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
