"""Which sits get the places that are left: pure, by spans of time."""

from itertools import combinations

import numpy as np
import pytest

from scheduling.sits.harvest_sharing import Asking, places_given


def asking(*spans: tuple[float, float]) -> list[Asking]:
    return [
        Asking(key=number, from_s=start, until_s=end) for number, (start, end) in enumerate(spans)
    ]


def test_two_who_are_out_together_do_not_both_get_the_one_that_is_left():
    assert places_given(asking((0, 4), (2, 6)), left=1) == {0}


def test_two_who_are_out_one_after_the_other_both_get_it():
    assert places_given(asking((0, 4), (4, 6)), left=1) == {0, 1}


def test_nobody_gets_one_where_none_is_left():
    assert places_given(asking((0, 4)), left=0) == frozenset()


def test_everybody_gets_one_where_there_are_enough():
    assert len(places_given(asking(*[(0, 4)] * 5), left=5)) == 5


def test_a_whole_day_does_not_share_with_morning_and_evening_both():
    """Morning takes it, all day takes it: two from one place, were they all served."""
    assert places_given(asking((0, 4), (6, 9), (0, 9)), left=1) == {0, 1}
    assert places_given(asking((0, 9), (0, 4), (6, 9)), left=1) == {0}


@pytest.mark.parametrize("seed", range(20))
def test_never_more_hold_a_place_at_one_instant_than_there_are(seed):
    rng = np.random.default_rng(seed)
    starts = rng.integers(0, 40, 30)
    rows = asking(*[(int(start), int(start + rng.integers(1, 15))) for start in starts])
    left = int(rng.integers(1, 5))

    given = [row for row in rows if row.key in places_given(rows, left=left)]

    most = max(sum(row.from_s <= t < row.until_s for row in given) for t in range(60))
    assert most <= left
    # Nobody without one could have been given it: with them too many would meet.
    for row in rows:
        if row not in given:
            beside = [o for o in given if o.from_s < row.until_s and row.from_s < o.until_s]
            assert len(beside) >= left
    assert any(a.from_s < b.until_s and b.from_s < a.until_s for a, b in combinations(rows, 2))
