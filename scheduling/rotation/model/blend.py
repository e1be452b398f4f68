"""Plans by one blended score: for problems too large for five searches, and to compare.

The l-th sit of a member counts 1400 − 100·l points, never below 100; each sit its quality.
"""

import time
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from scheduling.rotation.candidates import candidates
from scheduling.rotation.problem import RotationProblem, Seat

from .build import build
from .solve import Search


@dataclass(frozen=True, kw_only=True)
class BlendedPlan:
    """A plan, its ``score``, and a ``bound`` on any plan's score, exact whatever the solver.

    ``linear_seconds`` is the time of the one linear solve behind the bound.
    """

    seats: tuple[Seat, ...]
    score: int
    bound: Fraction
    seconds: float
    linear_seconds: float

    @property
    def gap(self) -> float:
        return float((self.bound - self.score) / max(Fraction(1), self.bound))


def solve_blended(
    problem: RotationProblem, *, time_limit_s: float = 60.0, seed: int = 1
) -> BlendedPlan:
    """The best plan by the blended score found in time."""
    began = time.perf_counter()
    seats = candidates(problem)
    model = build(problem, seats)
    search = Search.of(problem, seats, model, seed, began + time_limit_s)
    cost = model.blend.astype(np.float64)
    linear = time.perf_counter()
    bound, _ = search.linear_bound(cost, share_of_time=1.0)
    linear = time.perf_counter() - linear
    search.improve(model.blend, share_of_time=1.0, relative_gap=0.0)
    return BlendedPlan(
        seats=tuple(seats.seats[number] for number in search.seats_taken()),
        score=int(model.blend @ search.point),
        bound=bound,
        seconds=time.perf_counter() - began,
        linear_seconds=linear,
    )


def blended_score(problem: RotationProblem, plan: tuple[Seat, ...]) -> int:
    """The score of any plan, by its definition."""
    sits: dict[str, int] = {}
    score = 0
    for seat in plan:
        score += problem.quality_percent(seat)
        if seat not in problem.evening_halves:
            sits[seat.member_id] = sits.get(seat.member_id, 0) + 1
            score += max(1400 - 100 * sits[seat.member_id], 100)
    return score
