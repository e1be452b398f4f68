"""Random tiny problems whose members ask alone, with guests, or both."""

from dataclasses import replace

import numpy as np

from properties.sessions.kinds import SessionKey
from scheduling.rotation.audit import audit
from scheduling.rotation.problem import PlanGuest, PlanMember, PlanWish, RotationProblem, Seat
from tests.scheduling.rotation.exhaustive import (
    candidate_seats,
    tiny_problem,
    tiny_problem_with_whole_days,
)
from tests.scheduling.rotation.known_optima import on

GUESTS = ("G1", "G2", "G3")
COMPANIES = (("G1",), ("G2",), ("G1", "G2"), ("G3",))


def tiny_problem_with_guests(seed: int) -> RotationProblem:
    """Guests whom several members may bring, a young one, caps, sits held, bookings with guests.

    Every third problem has whole days. The season's year begins on 1 November, the first
    day of the plan, or on 1 October.
    """
    random = np.random.default_rng([seed, 27])
    plain = tiny_problem_with_whole_days(seed) if seed % 3 == 0 else tiny_problem(seed)
    problem = replace(
        plain,
        locked=(),
        evening_halves=(),
        published=None,
        guests=tuple(
            PlanGuest(id=guest, youth_until=on(1).local_date if guest == "G3" else None)
            for guest in GUESTS
        ),
        stands=tuple(replace(stand, capacity=int(random.integers(1, 4))) for stand in plain.stands),
        members=tuple(_with_guests(random, member, plain.sessions) for member in plain.members),
        properties=tuple(
            replace(
                place,
                uses_a_week=(None, None, None, 2)[int(random.integers(4))],
                hunters_a_session=(None, None, 2, 3)[int(random.integers(4))],
                guest_sits_a_host=(None, 1, 2, 3)[int(random.integers(4))],
                guest_sits_a_property=(None, None, 2, 4)[int(random.integers(4))],
                guest_sits_held=tuple(
                    (year, host, int(random.integers(1, 3)))
                    for year in (2024, 2025)
                    for host in ("M0", "Somebody")
                    if random.random() < 0.2
                ),
                year_first_month=(11, 10, 12)[int(random.integers(3))],
            )
            for place in plain.properties
        ),
    )
    return _with_standing_parties(random, problem)


def _with_guests(
    random: np.random.Generator, member: PlanMember, sessions: tuple[SessionKey, ...]
) -> PlanMember:
    """Some of what was asked for is asked for with guests, and some of it in both ways."""
    alone = replace(member, with_guests=()) if random.random() < 0.6 else None
    companies = [company for company in COMPANIES if random.random() < 0.5]
    if not companies:
        return replace(member, with_guests=())
    wishes = tuple(
        PlanWish(
            sits_requested=(0, 1, 1, 2)[int(random.integers(4))],
            available=tuple(
                session
                for session in sessions
                if random.random() < 0.35 and session.local_date not in member.all_day_on
            ),
            all_day_on=tuple(day for day in member.all_day_on if random.random() < 0.7),
            properties=member.properties,
            not_there=tuple(
                (place, session)
                for place in member.properties
                for session in sessions
                if random.random() < 0.1
            ),
            not_at=tuple(
                (stand, session)
                for stand in member.preference_percent
                for session in sessions
                if random.random() < 0.1
            ),
            preference_percent={
                stand: (0, 70, 100, 100)[int(random.integers(4))]
                for stand in member.preference_percent
            },
            guest_ids=company,
        )
        for company in companies[:2]
    )
    with_guests = sum(wish.sits_requested for wish in wishes)
    if alone is None:
        return replace(
            member, with_guests=wishes, available=(), all_day_on=(), sits_requested=with_guests
        )
    asked = with_guests + int(random.integers(0, 3))
    return replace(alone, with_guests=wishes, sits_requested=asked)


def _with_standing_parties(
    random: np.random.Generator, problem: RotationProblem
) -> RotationProblem:
    seats = [seat for seat in candidate_seats(problem) if not problem.is_of_wished_day(seat)]
    whole = {
        (member.id, day)
        for member in problem.members
        for wish in member.wish_with.values()
        for day in wish.all_day_on
    }
    locked: list[Seat] = []
    for number in random.permutation(len(seats))[: int(random.integers(0, 3))]:
        seat = seats[number]
        day = (seat.member_id, seat.session.local_date)
        if day not in whole and not audit(problem, [*locked, seat]):
            locked.append(seat)
    published = tuple(seat for seat in candidate_seats(problem) if random.random() < 0.2)
    return replace(
        problem,
        locked=tuple(locked),
        published=published if random.random() < 0.6 else None,
    )
