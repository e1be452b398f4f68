"""For the manager: which single rule, loosened by one step, would serve how many more sits.

Each relaxation is the same problem with one figure changed, solved anew for sits alone.
What it says is arithmetic, not advice: rest and caps are there for reasons. Only rules that a
manager may overrule are loosened: places in a stand, hunters on a property, lines of fire,
inspections, closures and weather never are.
"""

import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import numpy as np

from scheduling.rules import member_limits, rest, same_wind
from scheduling.rules.dark_days import DARK_DAY
from scheduling.rules.guest_caps import HOST_CAP, PROPERTY_CAP
from scheduling.rules.pressure import WEEK_BUDGET
from scheduling.rules.weekly_limit import WEEKLY_LIMIT
from scheduling.rules.words import count_words

from .candidates import candidates
from .explain import UnmetWish, explain
from .model.build import build
from .model.search import Search
from .problem import PlanProperty, RotationProblem, Seat
from .result import LevelName, LevelResult


class Basis(StrEnum):
    """``SOLVED``: the gain is known exactly. ``BY_DUALS``: only that it is at most so much."""

    SOLVED = "solved"
    BY_DUALS = "by_duals"


class Target(StrEnum):
    """What a relaxed rule is for."""

    STAND = "stand"
    PROPERTY = "property"
    MEMBER = "member"
    PLAN = "plan"


@dataclass(frozen=True, kw_only=True)
class Relaxation:
    """One change: the rule's ``code``, what it is for, and the change in words.

    ``sentence`` names properties and members by their ids. ``target_id`` is empty for a rule
    of the whole plan. ``changes`` are new fields of the
    problem; every plan of the original is a plan of the changed one.
    """

    code: str
    target: Target
    target_id: str
    sentence: str
    changes: Mapping[str, Any]

    def applied_to(self, problem: RotationProblem) -> RotationProblem:
        return replace(problem, **self.changes)


@dataclass(frozen=True, kw_only=True)
class Gain:
    """What a relaxation would serve: between ``more_sits_at_least`` and ``_at_most``.

    Both are counted against the most sits that the problem allows as it stands.
    """

    relaxation: Relaxation
    more_sits_at_least: int
    more_sits_at_most: int
    basis: Basis


@dataclass(frozen=True, kw_only=True)
class Gains:
    """Every relaxation that was tried, the greatest certain gain first, and how many were not.

    Those that gain nothing for certain are counted in ``without_gain`` only.
    """

    gains: tuple[Gain, ...]
    without_gain: int
    not_tried: int
    seconds: float


def relaxations(problem: RotationProblem) -> Iterator[Relaxation]:
    """Every single step: a day less rest, dark days opened, one more within a cap or limit."""
    yield from _of_stands(problem)
    for place in problem.properties:
        yield from _of_property(problem, place)
    yield from _of_members(problem)
    if problem.same_wind_cap is not None:
        cap = problem.same_wind_cap + 1
        yield Relaxation(
            code=same_wind.CODE,
            target=Target.PLAN,
            target_id="",
            sentence=f"Each stand used up to {count_words(cap, 'time')} on one wind in "
            f"{count_words(problem.same_wind_window_days, 'day')}.",
            changes={"same_wind_cap": cap},
        )


def gains(
    problem: RotationProblem,
    seats: Iterable[Seat],
    *,
    time_limit_s: float = 60.0,
    seed: int = 1,
    tried: Callable[[int, int], None] = lambda _number, _of: None,
) -> Gains:
    """How many more sits each relaxation would serve than ``problem`` allows.

    ``seats`` is a plan of the problem; rules that stood in the way of its unmet wishes most
    often are tried first. Half of the time goes to settle what is possible as it stands.
    ``tried`` is told, between two searches, how many of all relaxations are done; what it
    raises ends the work.
    """
    began = time.perf_counter()
    plan = tuple(seats)
    wishes = explain(problem, plan)
    if not wishes:
        return Gains(gains=(), without_gain=0, not_tried=0, seconds=time.perf_counter() - began)
    tries = _likeliest_first(problem, wishes)
    stop = began + time_limit_s
    now = _most_sits(problem, plan, time_limit_s / 2, seed)
    found: list[Gain] = []
    for number, relaxation in enumerate(tries):
        tried(number, len(tries))
        left = stop - time.perf_counter()
        if left <= 0:
            break
        then = _most_sits(
            relaxation.applied_to(problem), plan, 2 * left / (len(tries) - number + 1), seed
        )
        found.append(_gain(relaxation, now, then))
    worth = [gain for gain in found if gain.more_sits_at_most > 0]
    worth.sort(key=lambda gain: (-gain.more_sits_at_least, -gain.more_sits_at_most))
    return Gains(
        gains=tuple(worth),
        without_gain=len(found) - len(worth),
        not_tried=len(tries) - len(found),
        seconds=time.perf_counter() - began,
    )


def _gain(relaxation: Relaxation, now: LevelResult, then: LevelResult) -> Gain:
    # No relaxation serves less, so a gain below nothing only says that a search was cut short.
    least = max(0, int(then.best - now.bound))
    most = max(least, int(then.bound - now.best))
    return Gain(
        relaxation=relaxation,
        more_sits_at_least=least,
        more_sits_at_most=most,
        basis=Basis.SOLVED if least == most else Basis.BY_DUALS,
    )


def _most_sits(
    problem: RotationProblem, plan: Sequence[Seat], time_limit_s: float, seed: int
) -> LevelResult:
    """The most sits found, and a bound: the linear model's unless a search ends below it."""
    seats = candidates(problem)
    model = build(problem, seats)
    search = Search.of(problem, seats, model, seed, time.perf_counter() + time_limit_s)
    taken = np.zeros(len(seats), dtype=np.bool_)
    taken[seats.numbers(tuple(plan))] = True
    given = model.point(taken)
    if search.engine.holds(np.append(given[:-1], 0.0)) and (
        model.sits @ given > model.sits @ search.point
    ):
        search.point = given
    return search.reach(LevelName.SITS, model.sits, share_of_time=1.0)


def _likeliest_first(
    problem: RotationProblem, wishes: Sequence[UnmetWish]
) -> tuple[Relaxation, ...]:
    """Relaxations by how often their rule stood in the way of an unmet wish."""
    times: Counter[tuple[str, str]] = Counter()
    for wish in wishes:
        for obstacle in wish.obstacles:
            stand = problem.stand_by_id[obstacle.seat.stand_id]
            outlook = problem.outlook_at.get((stand.id, obstacle.seat.session))
            is_dark = outlook is not None and outlook.is_dark_day
            code = DARK_DAY.code if is_dark else obstacle.code
            for target in (stand.id, stand.property_id, wish.member_id, ""):
                times[code, target] += 1
    every = list(relaxations(problem))
    every.sort(key=lambda relaxation: -times[relaxation.code, relaxation.target_id])
    return tuple(every)


def _of_stands(problem: RotationProblem) -> Iterator[Relaxation]:
    for stand in problem.stands:
        if stand.rest_days < 2:
            continue
        rested = replace(stand, rest_days=stand.rest_days - 1)
        yield Relaxation(
            code=rest.CODE,
            target=Target.STAND,
            target_id=stand.id,
            sentence=f"Stand {stand.shown_name} used again after "
            f"{count_words(rested.rest_days, 'day')}, not {stand.rest_days}.",
            changes={"stands": tuple(rested if s.id == stand.id else s for s in problem.stands)},
        )


def _of_property(problem: RotationProblem, place: PlanProperty) -> Iterator[Relaxation]:
    stands = {stand.id for stand in problem.stands_on.get(place.id, ())}
    dark = {o for o in problem.outlooks if o.is_dark_day and o.stand_id in stands}
    if dark:
        opened = tuple(
            replace(o, closed_because="", is_dark_day=False) if o in dark else o
            for o in problem.outlooks
        )
        yield Relaxation(
            code=DARK_DAY.code,
            target=Target.PROPERTY,
            target_id=place.id,
            sentence=f"Property {place.id} hunted on its dark days too.",
            changes={"outlooks": opened},
        )
    yield from _of_caps(problem, place)


def _of_caps(problem: RotationProblem, place: PlanProperty) -> Iterator[Relaxation]:
    """One more within each cap of a property; none is written as None or 0."""
    caps = (
        (WEEK_BUDGET.code, "uses_a_week", "taking up to {} uses in a week"),
        (HOST_CAP.code, "guest_sits_a_host", "letting each host bring guests to {} sits"),
        (PROPERTY_CAP.code, "guest_sits_a_property", "letting guests have {} sits in a season"),
    )
    for code, name, words in caps:
        cap = getattr(place, name)
        # Without a guest to be planned a cap of guests stands in nobody's way.
        if not cap or (code != WEEK_BUDGET.code and not problem.guests):
            continue
        raised = replace(place, **{name: cap + 1})
        yield Relaxation(
            code=code,
            target=Target.PROPERTY,
            target_id=place.id,
            sentence=f"Property {place.id} {words.format(cap + 1)}, not {cap}.",
            changes={
                "properties": tuple(raised if p.id == place.id else p for p in problem.properties)
            },
        )


def _of_members(problem: RotationProblem) -> Iterator[Relaxation]:
    for member in problem.members:
        a_day, a_week = member.sits_per_day, member.sits_a_week
        steps = []
        if member.sits_requested > a_day:
            raised = replace(member, sits_per_day=a_day + 1)
            steps.append((member_limits.DAY_CODE, raised, f"{count_words(a_day + 1, 'sit')} a day"))
        if a_week is not None and member.sits_requested > a_week - _held(problem, member.id):
            raised = replace(member, sits_a_week=a_week + 1)
            words = f"{count_words(a_week + 1, 'sit')} a week"
            steps.append((WEEKLY_LIMIT.code, raised, words))
        for code, raised, words in steps:
            members = tuple(raised if m.id == member.id else m for m in problem.members)
            yield Relaxation(
                code=code,
                target=Target.MEMBER,
                target_id=member.id,
                sentence=f"Member {member.id} allowed {words}.",
                changes={"members": members},
            )


def _held(problem: RotationProblem, member_id: str) -> int:
    return max((sits for _, sits in problem.member_by_id[member_id].sits_held_by_week), default=0)
