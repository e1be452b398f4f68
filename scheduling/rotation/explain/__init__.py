"""Why not me? For each wish a plan left out, what stood in the way at each stand.

The same judges that refuse a booking are asked about each seat the member could have had,
with the plan as it stands. ``check`` sets their answers against the audit's own counting.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rotation.asks import has_room
from scheduling.rotation.audit import audit
from scheduling.rotation.candidates import other_half
from scheduling.rotation.conflicts import NOT_OFFERED_CODE
from scheduling.rotation.problem import (
    PlanMember,
    PlanStand,
    PlanWish,
    RotationProblem,
    Seat,
)
from scheduling.rules.words import session_words

from .behind import in_the_way
from .judged import joins_half_way, refusals_of_place, refusals_of_use, why_closed
from .laid_out import LaidOutPlan
from .summary import STILL_OPEN_CODE


@dataclass(frozen=True, kw_only=True)
class Obstacle:
    """What kept a member from one seat: a rule, and the other members' seats behind it.

    ``code`` and ``sentence`` are the rule's own, ``sentence_us`` where it reads otherwise in US
    units. ``in_the_way`` are seats of the plan that, gone, might have made room; empty where no
    member stood in the way.
    """

    seat: Seat
    code: str
    sentence: str
    in_the_way: tuple[Seat, ...]
    sentence_us: str = ""


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
                f"You asked for {self.sits_requested} and have {self.sits}: for what is missing "
                "you are not free in any session in which a stand you may use is planned."
            )
        return (
            f"You asked for {self.sits_requested} and have {self.sits}. Below is what stood in "
            "the way at each stand in each session you are free."
        )


def explain(problem: RotationProblem, seats: Iterable[Seat]) -> tuple[UnmetWish, ...]:
    """For each member short of sits in the plan ``seats``, what stood in the way."""
    plan = LaidOutPlan(problem, tuple(seats))
    return tuple(
        UnmetWish(
            member_id=member.id,
            sits_requested=member.sits_requested,
            sits=plan.sits_of(member),
            obstacles=tuple(_obstacles_for(plan, member)),
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


def _obstacles_for(plan: LaidOutPlan, member: PlanMember) -> Iterator[Obstacle]:
    """A wish, alone or with guests, that is granted in full is not gone into; nor is a seat for
    which only such a one asks, of several with the same guests.
    """
    for guests, wish in member.wish_with.items():
        sits = sum(not use.continues_morning for use in plan.own_uses(member, guests))
        if sits < wish.sits_requested:
            yield from _obstacles_to(plan, member, wish)


def _obstacles_to(plan: LaidOutPlan, member: PlanMember, wish: PlanWish) -> Iterator[Obstacle]:
    own = set(plan.seats_of_member.get(member.id, []))
    sits = [seat for seat in own - plan.halves if seat.guest_ids == wish.guest_ids]
    mornings = [SessionKey(day, SessionKind.MORNING) for day in wish.all_day_on]
    for session in sorted({*wish.available, *mornings}, key=lambda session: session.order):
        for stand in _wanted(plan, wish):
            seat = Seat(member.id, stand.id, session, wish.guest_ids)
            together = wished_together(plan.problem, seat)
            is_barred = any(
                wish.bars(property_id=stand.property_id, stand_id=stand.id, session=one.session)
                for one in together
            )
            if seat in own or session not in plan.problem.sessions or is_barred:
                continue
            if not wish.asks or has_room(plan.problem, wish, sits, seat):
                yield from _obstacles(plan, together, stand)


def _wanted(plan: LaidOutPlan, wish: PlanWish) -> list[PlanStand]:
    return [
        stand
        for stand in plan.problem.stands
        if stand.property_id in wish.properties and wish.preference_percent.get(stand.id, 100) > 0
    ]


def _obstacles(
    plan: LaidOutPlan, together: tuple[Seat, ...], stand: PlanStand
) -> Iterator[Obstacle]:
    found = [
        obstacle for seat in together for obstacle in _obstacles_at(plan, seat, together, stand)
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
    plan: LaidOutPlan, seat: Seat, together: tuple[Seat, ...], stand: PlanStand
) -> Iterator[Obstacle]:
    outlook = plan.problem.outlook_at.get((stand.id, seat.session))
    closed = why_closed(plan, stand, seat.session, outlook)
    if closed:
        yield Obstacle(
            seat=seat,
            code=NOT_OFFERED_CODE,
            sentence=closed,
            in_the_way=(),
            sentence_us=outlook.closed_because_us if outlook else "",
        )
    going_on = seat != together[0]
    # The evening of a whole day continues its morning, whoever sat there anew before.
    evening = together[1].session if len(together) > 1 and not going_on else None
    refusals = [
        *refusals_of_place(plan, seat, stand),
        *joins_half_way(plan, seat, stand, going_on),
        *([] if going_on else refusals_of_use(plan, seat, stand, evening)),
    ]
    for refusal in refusals:
        yield Obstacle(
            seat=seat,
            code=refusal.code,
            sentence=refusal.sentence,
            in_the_way=in_the_way(plan, seat, stand, refusal.code),
        )
