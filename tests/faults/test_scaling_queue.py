"""The queue of the scaling page: what must hold of any queue, and a known law."""

import math
from dataclasses import replace

import pytest

from tests.faults import scaling_queue
from tests.faults.scaling_queue import Costs, Load, day_of

COSTS = Costs(
    fits_s=2.0,
    report_s=1.0,
    rotation_s=20.0,
    webhook_s=0.02,
    import_1000_s=1.0,
    learn_s=1.0,
    small_job_s=0.05,
)


def test_one_seed_is_one_day_and_another_is_another():
    load = Load(properties=30)

    assert day_of(load, COSTS, workers=2, seed=1) == day_of(load, COSTS, workers=2, seed=1)
    assert day_of(load, COSTS, workers=2, seed=1) != day_of(load, COSTS, workers=2, seed=2)


def test_two_workers_are_half_as_busy_with_the_same_work_and_nobody_waits_longer():
    one = day_of(Load(properties=100), COSTS, workers=1, seed=1)
    two = day_of(Load(properties=100), COSTS, workers=2, seed=1)

    assert two.busy_share == pytest.approx(one.busy_share / 2)
    assert two.longest_wait_min <= one.longest_wait_min


def test_more_work_than_the_day_holds_is_left_and_said():
    day = day_of(Load(properties=100), replace(COSTS, fits_s=200.0), workers=1, seed=1)

    assert day.busy_share > 1
    assert day.left > 0


def test_the_mean_wait_of_random_arrivals_is_the_published_one(monkeypatch):
    """Pollaczek and Khinchine: W = λ·E[S²] / (2·(1 − ρ)) for one worker and random arrivals.

    L. Kleinrock, Queueing Systems, volume 1 (1975), section 5.6; written from memory.
    """
    begun = []
    push = scaling_queue.heapq.heappush

    def pushed(free, ends):
        begun.append(ends)
        push(free, ends)

    monkeypatch.setattr(scaling_queue.heapq, "heappush", pushed)
    per_day, mean_s = 40_000, 1.5
    load = Load(
        properties=1,
        forecasts_a_day=0,
        imported_rows_a_day=0,
        events_a_day=0,
        small_jobs_a_day=per_day,
        is_first_of_month=False,
    )
    costs = Costs(
        fits_s=0,
        report_s=0,
        rotation_s=0,
        webhook_s=0,
        import_1000_s=0,
        learn_s=0,
        small_job_s=mean_s,
    )
    works = sorted(scaling_queue._works(load, costs, scaling_queue.random.Random(5)))
    day_of(load, costs, workers=1, seed=5)
    waits = [end - work.takes_s - work.due_s for work, end in zip(works, begun, strict=True)]

    arrivals_a_s = per_day / scaling_queue.DAY_S
    squares = mean_s**2 * math.exp(scaling_queue.SPREAD**2)
    expected_s = arrivals_a_s * squares / (2 * (1 - arrivals_a_s * mean_s))
    assert sum(waits) / len(waits) == pytest.approx(expected_s, rel=0.15)
