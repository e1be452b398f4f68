"""The order of a walk: the shortest for few stops, untangled for many."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse.csgraph import minimum_spanning_tree

from scheduling.errands.walk import MOST_EXACT_STOPS, length_of, shortest_walk


def straight(points):
    points = np.asarray(points, dtype=float)
    return np.hypot(*(points[:, None, :] - points[None, :, :]).transpose(2, 0, 1))


def test_stops_on_a_line_are_called_at_one_after_another():
    walk = shortest_walk(straight([(0, 0), (300, 0), (100, 0), (200, 0)]))

    assert walk.length_m == pytest.approx(600)
    assert walk.is_shortest


def test_nothing_to_do_is_no_walk_and_one_stop_is_there_and_back():
    assert shortest_walk(np.zeros((1, 1))).order == ()
    one = shortest_walk(straight([(0, 0), (30, 40)]))
    assert (one.order, one.length_m) == ((1,), 100)


@given(
    st.lists(
        st.tuples(st.integers(0, 900), st.integers(0, 900)), min_size=2, max_size=7, unique=True
    )
)
@settings(max_examples=60, deadline=None)
def test_no_other_order_of_few_stops_is_shorter(points):
    distances = straight(points)
    every = permutations(range(1, len(points)))

    walk = shortest_walk(distances)

    assert sorted(walk.order) == list(range(1, len(points)))
    assert walk.length_m == pytest.approx(min(length_of(order, distances) for order in every))


def test_a_detour_that_is_not_straight_counts_as_it_is_handed_in():
    """Worked by hand: by the numbers 1-3-2 costs 1 + 1 + 1 + 1, any other order 12 or more."""
    far = np.full((4, 4), 10.0) - 10 * np.eye(4)
    for first, second in ((0, 1), (1, 3), (3, 2), (2, 0)):
        far[first, second] = far[second, first] = 1.0

    assert shortest_walk(far).order == (1, 3, 2)
    assert shortest_walk(far).length_m == 4


def test_around_a_convex_ground_many_stops_are_called_at_in_turn():
    """In convex position only the way round does not cross itself, and 2-opt leaves no crossing;
    the outline is the shortest tour (Flood 1956; from memory)."""
    angles = 2 * np.pi * np.random.default_rng(2).permutation(25) / 25
    points = 400 * np.column_stack([np.cos(angles), np.sin(angles)])

    walk = shortest_walk(straight(points))

    assert not walk.is_shortest
    assert walk.length_m == pytest.approx(25 * 2 * 400 * np.sin(np.pi / 25))


def test_many_scattered_stops_stay_near_what_no_walk_can_undercut():
    """A walk less its longest leg joins all stops: no walk is shorter than the least tree
    (Kruskal 1956, by scipy). Random tours are about 1.25 times as long; twice is the promise of
    walking round that tree."""
    distances = straight(np.random.default_rng(7).uniform(0, 1500, (41, 2)))
    tree_m = float(minimum_spanning_tree(distances).sum())

    walk = shortest_walk(distances)

    assert sorted(walk.order) == list(range(1, 41))
    assert tree_m <= walk.length_m <= 1.4 * tree_m


def test_the_two_ways_of_finding_it_agree_where_they_meet(monkeypatch):
    rng = np.random.default_rng(11)
    worse = []
    for _ground in range(15):
        distances = straight(rng.uniform(0, 1000, (MOST_EXACT_STOPS, 2)))
        exact = shortest_walk(distances).length_m
        with monkeypatch.context() as patch:
            patch.setattr("scheduling.errands.walk.MOST_EXACT_STOPS", 1)
            worse.append(shortest_walk(distances).length_m / exact)
    assert min(worse) >= 1 - 1e-9
    assert np.mean(worse) < 1.02


def test_distances_that_make_no_sense_are_refused():
    with pytest.raises(ValueError, match="square"):
        shortest_walk(np.zeros((2, 3)))
    with pytest.raises(ValueError, match="both ways"):
        shortest_walk(np.array([[0.0, 1.0], [2.0, 0.0]]))
    with pytest.raises(ValueError, match="not negative"):
        shortest_walk(np.array([[0.0, -1.0], [-1.0, 0.0]]))
