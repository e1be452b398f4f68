"""Random tiny problems whose members have several wishes, each with its own number of sits."""

from dataclasses import replace
from typing import TypeVar

import numpy as np

from scheduling.rotation.audit import audit
from scheduling.rotation.problem import PlanAsk, PlanMember, PlanWish, RotationProblem
from tests.scheduling.rotation.exhaustive import tiny_problem, tiny_problem_with_whole_days
from tests.scheduling.rotation.tiny_with_guests import tiny_problem_with_guests

Wish = TypeVar("Wish", PlanMember, PlanWish)


def tiny_problem_with_asks(seed: int) -> RotationProblem:
    """A third of them plain, a third with whole days, a third with guests.

    Stands rest little and members are often free, so that the numbers bind; in every other
    problem the rules of neighbours and of one wind hold too.

    Wishes overlap, differ in stands and sessions, may ask for no sit at all, and leave some of
    what is wanted to none of them.
    """
    random = np.random.default_rng([seed, 41])
    source = (tiny_problem, tiny_problem_with_whole_days, tiny_problem_with_guests)[seed % 3]
    plain = source(seed)
    problem = replace(
        plain,
        stands=tuple(replace(stand, rest_days=min(1, stand.rest_days)) for stand in plain.stands),
        properties=tuple(replace(place, uses_a_week=None) for place in plain.properties),
        same_wind_cap=plain.same_wind_cap if seed % 2 else None,
        exclusions=plain.exclusions if seed % 2 else (),
        members=tuple(_with_asks(random, member, plain) for member in plain.members),
    )
    # Bookings that break no rule among themselves, so that the best plan is the best of all.
    if audit(problem, problem.locked):
        return replace(problem, locked=(), evening_halves=())
    return problem


def _with_asks(
    random: np.random.Generator, member: PlanMember, problem: RotationProblem
) -> PlanMember:
    with_guests = tuple(_parted(random, wish, problem) for wish in member.with_guests)
    number = member.wish_with[()].sits_requested
    alone = _parted(random, replace(member, sits_requested=number), problem)
    together = sum(wish.sits_requested for wish in with_guests)
    return replace(
        alone,
        sits_requested=alone.sits_requested + together,
        sits_per_day=2,
        sits_a_week=None,
        with_guests=with_guests,
    )


def _parted(random: np.random.Generator, wish: Wish, problem: RotationProblem) -> Wish:
    """The wish as several, whose numbers add up to its own; or as it was."""
    count = (0, 2, 2, 3)[int(random.integers(4))]
    if not count:
        return wish
    asks = tuple(_ask(random, wish, problem) for _ in range(count))
    free = tuple(
        session
        for session in problem.sessions
        if session.local_date not in wish.all_day_on
        and (session in wish.available or random.random() < 0.4)
    )
    return replace(
        wish,
        asks=asks,
        sits_requested=sum(ask.sits_requested for ask in asks),
        available=free if wish.available else (),
    )


def _ask(random: np.random.Generator, wish: Wish, problem: RotationProblem) -> PlanAsk:
    return PlanAsk(
        sits_requested=(0, 1, 1, 2)[int(random.integers(4))],
        stands=tuple(stand.id for stand in problem.stands if random.random() < 0.7),
        sessions=tuple(session for session in problem.sessions if random.random() < 0.7),
        all_day=bool(wish.all_day_on) and bool(random.random() < 0.5),
    )
