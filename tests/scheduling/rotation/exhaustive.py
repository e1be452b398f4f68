"""The best plan of a tiny problem by trying every plan, and a source of tiny problems.

Nothing here knows the solver or the rules' rows: a plan is allowed when the audit says so.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import TypeVar

import numpy as np

from properties.sessions.kinds import SessionKey
from scheduling.rotation.audit import audit, excesses
from scheduling.rotation.problem import (
    Exclusion,
    Outlook,
    PlanGuest,
    PlanMember,
    PlanProperty,
    PlanStand,
    PlanWish,
    RotationProblem,
    Seat,
)
from scheduling.rules.snapshot import monday_of
from scheduling.rules.uses import Use
from tests.scheduling.rotation.known_optima import EVENING, MORNING, on

Together = tuple[Seat, ...]
Wish = TypeVar("Wish", PlanMember, PlanWish)
GUEST = PlanGuest(id="G1")


def candidate_seats(problem: RotationProblem) -> list[Seat]:
    return sorted(
        {seat for together in choices(problem) for seat in together} | set(problem.locked),
        key=lambda seat: seat.sort_key,
    )


def choices(problem: RotationProblem) -> list[Together]:
    """What can be added to a plan: a seat, or both halves of a day wished as a whole."""
    found: list[Together] = []
    free = {
        (outlook.stand_id, outlook.session)
        for outlook in problem.outlooks
        if outlook.fit_percent >= problem.fit_floor_percent and not outlook.closed_because
    }
    for member in problem.members:
        for wish in member.wish_with.values():
            found += [
                (Seat(member.id, stand_id, session, wish.guest_ids),)
                for stand_id, session in sorted(free, key=lambda at: (at[1].order, at[0]))
                if _wants(problem, wish, stand_id)
                and session in wish.available
                and _is_there(problem, wish, stand_id, session)
            ]
            for day in wish.all_day_on:
                halves = [SessionKey(day, kind) for kind in (MORNING, EVENING)]
                found += [
                    tuple(Seat(member.id, stand.id, half, wish.guest_ids) for half in halves)
                    for stand in problem.stands
                    if _wants(problem, wish, stand.id)
                    and all(
                        (stand.id, half) in free and _is_there(problem, wish, stand.id, half)
                        for half in halves
                    )
                ]
    found = [together for together in found if _has_room(problem, together)]
    return [together for together in found if not set(together) & set(problem.locked)]


def _wants(problem: RotationProblem, wish: PlanWish, stand_id: str) -> bool:
    return (
        wish.sits_requested > 0
        and wish.preference_percent.get(stand_id, 100) > 0
        and problem.stand_by_id[stand_id].property_id in wish.properties
    )


def _is_there(problem: RotationProblem, wish: PlanWish, stand_id: str, session: SessionKey) -> bool:
    is_barred_there = (problem.stand_by_id[stand_id].property_id, session) in wish.not_there
    return not is_barred_there and (stand_id, session) not in wish.not_at


def _has_room(problem: RotationProblem, together: Together) -> bool:
    """Whether the guests could come at all; where not, the wish lowers no share."""
    alone = replace(problem, locked=(), evening_halves=())
    too_many = {"stand_full", "property_full", "guests_of_host", "guests_on_property"}
    found = {violation.code for violation in audit(alone, together)}
    return not together[0].guest_ids or not found & too_many


def levels_of(problem: RotationProblem, plan: Iterable[Seat]) -> tuple[Fraction, ...]:
    """Sits, first wishes, worst served, quality, changes of a plan, by their definitions."""
    plan = list(plan)
    sits = Counter(seat.member_id for seat in plan if not _goes_on(problem, seat))
    first = max([4, *(member.sits_requested for member in problem.members)])
    points = sum(
        first + 1 - number + problem.member_by_id[name].priority_points
        for name, count in sits.items()
        for number in range(1, count + 1)
    )
    quality: Counter[str] = Counter()
    worth: Counter[str] = Counter()
    for seat in plan:
        quality[seat.member_id] += problem.quality_percent(seat)
        on_prime_day = problem.outlook_at[seat.stand_id, seat.session].share_percent
        worth[seat.member_id] += problem.quality_percent(seat) * on_prime_day // 100
    shares = [
        Fraction(worth[name] + problem.member_by_id[name].received_quality)
        / max(
            1, problem.member_by_id[name].entitlement or problem.member_by_id[name].sits_requested
        )
        for name in {seat.member_id for seat in candidate_seats(problem)}
    ]
    changes = 0 if problem.published is None else len(set(plan) ^ set(problem.published))
    return (
        Fraction(sits.total()),
        Fraction(points),
        min(shares, default=Fraction(0)),
        Fraction(sum(quality.values()) - sum(one.price for one in excesses(problem, plan))),
        Fraction(changes),
    )


def _goes_on(problem: RotationProblem, seat: Seat) -> bool:
    """The evening of an all-day sit, which is no sit of its own."""
    wish = problem.member_by_id[seat.member_id].wish_with.get(seat.guest_ids)
    wished = () if wish is None else wish.all_day_on
    is_wished = seat.session.kind == EVENING and seat.session.local_date in wished
    return is_wished or seat in problem.evening_halves


def best_levels(problem: RotationProblem) -> tuple[Fraction, ...]:
    """The best levels over every plan, changes counted negative while comparing."""
    best: tuple[Fraction, ...] | None = None
    free = choices(problem)
    stack: list[tuple[int, tuple[Seat, ...]]] = [(0, problem.locked)]
    while stack:
        start, plan = stack.pop()
        *up, changes = levels_of(problem, plan)
        ranked = (*up, -changes)
        if best is None or ranked > best:
            best = ranked
        for number in range(start, len(free)):
            # A seat more never mends a broken rule, so a broken plan is not built on.
            if not audit(problem, (*plan, *free[number])):
                stack.append((number + 1, (*plan, *free[number])))
    assert best is not None
    return (*best[:-1], -best[-1])


def tiny_problem(seed: int) -> RotationProblem:
    """A random problem of 2 or 3 stands, members and days, with every kind of rule in play."""
    random = np.random.default_rng(seed)
    days = int(random.integers(2, 4))
    sessions = tuple(
        on(day, kind)
        for day in range(1, days + 1)
        for kind in (MORNING, EVENING)
        if random.random() < 0.8
    )
    places = ("North", "South")
    stands = tuple(
        PlanStand(
            id=f"S{number}",
            property_id=places[int(random.integers(2))],
            capacity=int(random.integers(1, 3)),
            rest_days=int(random.integers(0, 4)),
            quality_percent=int(random.integers(50, 101)),
        )
        for number in range(int(random.integers(2, 4)))
    )
    members = tuple(_member(random, f"M{number}", stands, sessions) for number in range(3))
    outlooks = tuple(
        Outlook(
            stand_id=stand.id,
            session=session,
            fit_percent=int(random.integers(30, 101)),
            sector_per_mille=_chances(random),
            share_percent=(100, 100, 50, 150)[session.order % 4],
        )
        for stand in stands
        for session in sessions
        if random.random() < 0.7
    )
    problem = RotationProblem(
        members=members,
        guests=(GUEST,),
        stands=stands,
        properties=tuple(
            PlanProperty(
                id=place,
                hunters_a_session=(None, 1, 2, 3)[int(random.integers(4))],
                uses_a_week=(None, None, 1, 3)[int(random.integers(4))],
            )
            for place in places
        ),
        sessions=sessions,
        outlooks=outlooks,
        exclusions=tuple(
            Exclusion(
                stand_ids=(one.id, other.id),
                sessions=None if random.random() < 0.5 else sessions[:2],
            )
            for one in stands
            for other in stands
            if one.id < other.id and random.random() < 0.3
        ),
        uses_outside=tuple(
            Use(
                stand_id=stand.id,
                session=on(-int(random.integers(0, 4))),
                sector_per_mille=_chances(random),
                rest_days=None if random.random() < 0.7 else int(random.integers(0, 6)),
            )
            for stand in stands
            if random.random() < 0.4
        ),
        fit_floor_percent=50,
        same_wind_cap=(None, 1, 2)[int(random.integers(3))],
        same_wind_window_days=int(random.integers(1, 5)),
        stability_share=0.0,
    )
    return _with_standing_seats(random, problem)


def tiny_problem_with_whole_days(seed: int) -> RotationProblem:
    """The same with days wished as a whole in place of their sessions, and bookings that may
    be such days too.
    """
    random = np.random.default_rng([seed, 16])
    problem = replace(tiny_problem(seed), locked=(), published=None)
    days = sorted({session.local_date for session in problem.sessions})
    members = []
    for member in problem.members:
        whole = tuple(day for day in days if random.random() < 0.5)
        changed = tuple(_by_whole_days(wish, whole) for wish in member.with_guests)
        members.append(replace(_by_whole_days(member, whole), with_guests=changed))
    problem = replace(problem, members=tuple(members))
    problem = _with_a_booked_day(random, problem) if random.random() < 0.4 else problem
    published = tuple(seat for seat in candidate_seats(problem) if random.random() < 0.2)
    return replace(problem, published=published if random.random() < 0.6 else None)


def _by_whole_days(wish: Wish, whole: tuple[date, ...]) -> Wish:
    singly = tuple(one for one in wish.available if one.local_date not in whole)
    is_asked = bool(wish.available) or isinstance(wish, PlanMember)
    return replace(wish, available=singly, all_day_on=whole if is_asked else ())


def _with_a_booked_day(random: np.random.Generator, problem: RotationProblem) -> RotationProblem:
    """One wish granted beforehand, as a booking of a session or of a whole day."""
    together = choices(problem)
    if not together:
        return problem
    booked = together[int(random.integers(len(together)))]
    if audit(problem, booked):
        return problem
    day = booked[0].session.local_date
    members = tuple(
        replace(
            _without_day(member, day),
            with_guests=tuple(_without_day(wish, day) for wish in member.with_guests),
            sits_requested=max(1, member.sits_requested),
        )
        if member.id == booked[0].member_id
        else member
        for member in problem.members
    )
    return replace(problem, members=members, locked=booked, evening_halves=booked[1:])


def _without_day(wish: Wish, day: date) -> Wish:
    return replace(wish, all_day_on=tuple(one for one in wish.all_day_on if one != day))


def _member(
    random: np.random.Generator,
    name: str,
    stands: tuple[PlanStand, ...],
    sessions: tuple[SessionKey, ...],
) -> PlanMember:
    sits_requested, sits_per_day = int(random.integers(0, 4)), int(random.integers(1, 3))
    sits_a_week = (None, None, 1, 2)[int(random.integers(4))]
    sits_held_by_week = ((monday_of(on(1).local_date), int(random.integers(0, 2))),)
    is_alone = random.random() < 0.85
    member = PlanMember(
        id=name,
        sits_requested=sits_requested,
        sits_per_day=sits_per_day,
        sits_a_week=sits_a_week,
        sits_held_by_week=sits_held_by_week,
        available=tuple(session for session in sessions if random.random() < 0.4),
        properties=("North",) if random.random() < 0.5 else ("North", "South"),
        preference_percent={
            stand.id: (0, 60, 80, 100, 120)[int(random.integers(5))] for stand in stands
        },
        entitlement=None if random.random() < 0.5 else int(random.integers(1, 4)),
        received_quality=int(random.integers(0, 2)) * int(random.integers(0, 150)),
        priority_points=1 if name == "M1" else 0,
    )
    return member if is_alone else accompanied(member)


def accompanied(member: PlanMember) -> PlanMember:
    """The member asking for the same sits with a guest, and for none alone."""
    wish = PlanWish(
        sits_requested=member.sits_requested,
        available=member.available,
        properties=member.properties,
        preference_percent=member.preference_percent,
        all_day_on=member.all_day_on,
        guest_ids=(GUEST.id,),
    )
    return replace(member, available=(), all_day_on=(), with_guests=(wish,))


def _chances(random: np.random.Generator) -> tuple[int, ...]:
    chances = np.zeros(8, dtype=int)
    if random.random() < 0.5:
        chances[int(random.integers(2))] = 1000
    else:
        share = int(random.integers(1, 1000))
        chances[:2] = share, 1000 - share
    return tuple(chances.tolist())


def _with_standing_seats(random: np.random.Generator, problem: RotationProblem) -> RotationProblem:
    """Lock a seat or two that break no rule, and publish a few others."""
    seats = candidate_seats(problem)
    locked: list[Seat] = []
    for number in random.permutation(len(seats))[: int(random.integers(0, 3))]:
        if not audit(problem, [*locked, seats[number]]):
            locked.append(seats[number])
    published = tuple(seat for seat in seats if random.random() < 0.2)
    return replace(
        problem,
        locked=tuple(locked),
        published=published if random.random() < 0.6 else None,
    )
