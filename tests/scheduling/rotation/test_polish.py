"""Planning anew neighbourhood by neighbourhood."""

import time

import numpy as np

from scheduling.rotation.audit import audit
from scheduling.rotation.candidates import candidates
from scheduling.rotation.model.blend import blended_score, solve_blended
from scheduling.rotation.model.build import build
from scheduling.rotation.model.polish import polish
from scheduling.rotation.model.search import Search
from scheduling.rotation.problem import RotationProblem, Seat
from tests.benchmarks.rotation_instances import instance


def polished(problem: RotationProblem) -> tuple[int, int, tuple[Seat, ...]]:
    """The score by hand, the score polished, and the plan polished."""
    seats = candidates(problem)
    model = build(problem, seats)
    stop = time.perf_counter() + 60
    search = Search.of(problem, seats, model, 1, stop)
    by_hand = int(model.blend @ search.point)
    polish(problem, search, model.blend, good_enough=np.inf, stop=stop)
    plan = tuple(seats.seats[number] for number in search.seats_taken())
    return by_hand, int(model.blend @ search.point), plan


def test_a_polished_plan_betters_the_plan_by_hand_and_keeps_every_rule() -> None:
    problem = instance("small", seed=1)
    by_hand, score, plan = polished(problem)
    assert audit(problem, plan) == []
    assert score == blended_score(problem, plan)
    assert by_hand < score <= solve_blended(problem).bound


def test_a_neighbourhood_of_all_properties_reaches_the_best_plan() -> None:
    # Two properties of four stands: one neighbourhood holds them both.
    problem = instance("small", seed=2)
    assert polished(problem)[1] == solve_blended(problem).score


def test_the_same_plan_is_polished_to_the_same_plan() -> None:
    problem = instance("small", seed=3)
    assert polished(problem) == polished(problem)
