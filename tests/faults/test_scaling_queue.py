"""The queue of the scaling page: what must hold of any queue, and a known law."""

import random
from dataclasses import replace

import pytest

from coop.jobs.registry import Urgency
from tests.faults import scaling_queue
from tests.faults.scaling_queue import Costs, Load, Work, day_of, served

COSTS = Costs(
    fits_s=2.0,
    report_s=1.0,
    rotation_s=20.0,
    webhook_s=0.02,
    import_1000_s=1.0,
    learn_s=1.0,
    small_job_s=0.05,
    look_s=0.05,
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


def random_works(per_day, mean_s, urgency, dice):
    for _each in range(per_day):
        takes_s = dice.expovariate(1 / mean_s)
        yield Work(dice.uniform(0, scaling_queue.DAY_S), takes_s, False, urgency)


def mean_wait_s(done, urgency):
    waits = [each.waited_s for each in done if each.work.urgency is urgency]
    return sum(waits) / len(waits)


def test_the_mean_wait_of_random_arrivals_is_the_published_one():
    """Pollaczek and Khinchine: W = λ·E[S²] / (2·(1 − ρ)) for one worker and random arrivals;
    E[S²] of exponential times is 2·E[S]².

    L. Kleinrock, Queueing Systems, volume 1 (1975), section 5.6; written from memory.
    """
    per_day, mean_s = 40_000, 1.5
    works = random_works(per_day, mean_s, Urgency.SLOW, random.Random(5))

    done = list(served(works, workers=1, in_turn=False))

    a_second = per_day / scaling_queue.DAY_S
    expected_s = a_second * 2 * mean_s**2 / (2 * (1 - a_second * mean_s))
    assert mean_wait_s(done, Urgency.SLOW) == pytest.approx(expected_s, rel=0.15)


def test_the_mean_waits_by_turns_are_the_published_ones():
    """Cobham: with W₀ = Σ λ·E[S²] / 2, of two classes whose work in hand is not interrupted
    the first waits W₀ / (1 − ρ₁), the second W₀ / ((1 − ρ₁)·(1 − ρ₁ − ρ₂)).

    A. Cobham, Operations Research 2 (1954), 70 to 76; written from memory.
    """
    first_s, second_s = 1.0, 4.0
    dice = random.Random(5)
    works = [
        *random_works(30_000, first_s, Urgency.URGENT, dice),
        *random_works(10_000, second_s, Urgency.SLOW, dice),
    ]

    done = list(served(works, workers=1))

    of_first, of_second = (count / scaling_queue.DAY_S for count in (30_000, 10_000))
    left_over_s = of_first * first_s**2 + of_second * second_s**2
    free_of_first = 1 - of_first * first_s
    free_of_both = free_of_first - of_second * second_s
    expected_s = left_over_s / free_of_first
    assert mean_wait_s(done, Urgency.URGENT) == pytest.approx(expected_s, rel=0.1)
    expected_s = left_over_s / (free_of_first * free_of_both)
    assert mean_wait_s(done, Urgency.SLOW) == pytest.approx(expected_s, rel=0.2)


def test_an_urgent_work_waits_for_one_slow_work_by_turns_and_for_none_with_a_worker_of_its_own():
    slow = [Work(0.0, 100.0, True, Urgency.SLOW) for _each in range(5)]
    urgent = Work(1.0, 1.0, False, Urgency.URGENT)

    def begins_s(**how):
        done = served([*slow, urgent], workers=1, **how)
        return next(each.begins_s for each in done if each.work is urgent)

    assert begins_s(in_turn=False) == 500.0
    assert begins_s() == 100.0
    assert begins_s(urgent_workers=1) == 1.0


def test_a_worker_for_urgent_work_takes_up_nothing_else_and_does_no_work_of_the_others():
    load = Load(properties=30)

    alone = day_of(load, COSTS, workers=1, seed=1)
    beside = day_of(load, COSTS, workers=1, seed=1, urgent_workers=1)

    looked_s = (alone.busy_share - beside.busy_share) * scaling_queue.DAY_S
    assert looked_s == pytest.approx(load.properties * load.looks_a_day * COSTS.look_s, rel=0.2)
    assert beside.urgent_wait_s < alone.urgent_wait_s
    assert beside.night_done_h <= alone.night_done_h
