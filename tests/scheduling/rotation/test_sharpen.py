"""Rows that cut off half uses and no plan."""

from itertools import product

import numpy as np
import pytest

from scheduling.rotation.candidates import candidates
from scheduling.rotation.greedy import BASELINES
from scheduling.rotation.model.build import build
from scheduling.rotation.model.search import Search
from scheduling.rotation.model.sharpen import StandRows, greatest_ways, strongest_row
from tests.benchmarks.rotation_instances import instance


def a_stand(random: np.random.Generator) -> StandRows:
    """A stand with some uses that rest apart and some weighed by chances."""
    uses = int(random.integers(2, 8))
    close = (random.random((3, uses)) < 0.4).astype(np.float64)
    chances = random.integers(0, 1001, (3, uses)).astype(np.float64)
    return StandRows(
        columns=np.arange(uses),
        weights=np.vstack([close, chances]),
        limits=np.array([1.0, 1, 1, *random.integers(0, 2001, 3)]),
    )


def all_ways(stand: StandRows) -> np.ndarray:
    ways = np.array(list(product([0, 1], repeat=len(stand.columns))))
    return ways[(ways @ stand.weights.T <= stand.limits).all(axis=1)]


@pytest.mark.parametrize("seed", range(40))
def test_listed_ways_are_those_to_which_nothing_can_be_added(seed: int) -> None:
    stand = a_stand(np.random.default_rng(seed))
    ways = {tuple(way) for way in all_ways(stand).tolist()}
    greatest = {
        way
        for way in ways
        if not any(way != other and np.all(np.array(other) >= way) for other in ways)
    }
    listed = greatest_ways(stand)
    assert listed is not None
    assert {tuple(way) for way in listed.astype(int).tolist()} == greatest


def test_too_many_ways_are_not_listed() -> None:
    free = StandRows(columns=np.arange(40), weights=np.ones((1, 40)), limits=np.array([20.0]))
    assert greatest_ways(free) is None


def test_every_row_found_breaks_the_solution_and_keeps_every_way() -> None:
    found = 0
    for seed in range(200):
        random = np.random.default_rng(seed)
        stand = a_stand(random)
        ways = greatest_ways(stand)
        assert ways is not None
        use = random.random(len(stand.columns)) * (random.random(len(stand.columns)) < 0.7)
        row = strongest_row(ways, use)
        if row is None:
            continue
        weight, limit = row
        assert weight @ use > limit
        assert (all_ways(stand) @ weight <= limit).all()
        found += 1
    assert found > 50


def test_a_mean_of_ways_breaks_no_row() -> None:
    for seed in range(50):
        random = np.random.default_rng(seed)
        ways = greatest_ways(a_stand(random))
        assert ways is not None
        share = random.random(len(ways))
        assert strongest_row(ways, share @ ways / share.sum()) is None


def test_half_uses_under_one_wind_are_cut_off() -> None:
    # Three uses of seven tenths under a cap of one: any one of them, never two.
    stand = StandRows(
        columns=np.arange(3), weights=np.full((1, 3), 700.0), limits=np.array([1000.0])
    )
    ways = greatest_ways(stand)
    assert ways is not None
    row = strongest_row(ways, np.full(3, 1000 / 2100))
    assert row is not None
    assert row[0].tolist() == [1, 1, 1]
    assert row[1] == 1


def test_sharper_rows_lower_the_bound_and_no_plan_by_hand_breaks_them() -> None:
    problem = instance("medium", seed=1)
    seats = candidates(problem)
    model = build(problem, seats)
    search = Search.of(problem, seats, model, 1, float("inf"))
    cost = model.blend.astype(np.float64)
    plain = search.engine.maximise(cost, time_limit_s=60, relax=True)
    before = search.engine.matrix.shape[0]
    sharp, is_exact = search.linear_bound(cost, share_of_time=0.5)
    assert is_exact
    assert search.engine.matrix.shape[0] > before
    assert sharp < plain.bound - 500
    for baseline in BASELINES.values():
        taken = np.zeros(len(seats), dtype=np.bool_)
        taken[seats.numbers(baseline(problem))] = True
        point = model.point(taken)
        assert search.engine.holds(np.append(point[:-1], 0.0))
