"""What one rule loosened by a step would serve, against counting by hand and every plan."""

from dataclasses import replace

import pytest

from scheduling.rotation.audit import audit
from scheduling.rotation.model.solve import solve
from scheduling.rotation.problem import Outlook, PlanStand, RotationProblem
from scheduling.rotation.relaxations import Basis, gains, relaxations
from tests.scheduling.rotation.exhaustive import best_levels, tiny_problem
from tests.scheduling.rotation.known_optima import (
    certain,
    on,
    rest_beats_best_fit,
    who_goes_short,
)


def gained(problem: RotationProblem) -> dict[tuple[str, str], int]:
    found = gains(problem, solve(problem).seats)
    assert all(gain.basis is Basis.SOLVED for gain in found.gains)
    return {
        (gain.relaxation.code, gain.relaxation.target_id): gain.more_sits_at_least
        for gain in found.gains
    }


def wanting_one_more() -> RotationProblem:
    """Three days, one stand that rests two: two sits for three wishes."""
    problem = rest_beats_best_fit().problem
    first, second = problem.members
    return replace(problem, members=(replace(first, sits_requested=2), second))


def test_a_day_less_rest_serves_the_third_wish_of_three_days() -> None:
    assert gained(wanting_one_more())["stand_resting", "S1"] == 1


def test_a_third_place_serves_one_more_where_one_member_may_sit_twice_a_day() -> None:
    # N1 has one use that day: A, B and C in it, and B on Z1 in the other session.
    assert gained(who_goes_short().problem)["stand_full", "N1"] == 1


def test_a_closed_stand_is_offered_to_the_manager_with_the_reason_it_is_closed() -> None:
    problem = wanting_one_more()
    closed = tuple(
        Outlook(
            stand_id="S2",
            session=on(day),
            fit_percent=fit,
            sector_per_mille=certain("N"),
            closed_because="Its inspection is due.",
        )
        for day, fit in ((1, 40), (2, 80), (3, 40))
    )
    with_closed = replace(
        problem,
        stands=(*problem.stands, PlanStand(id="S2", property_id="North")),
        outlooks=(*problem.outlooks, *closed),
    )
    found = gains(with_closed, solve(with_closed).seats)
    opened = next(g for g in found.gains if g.relaxation.code == "stand_not_offered")
    assert (opened.relaxation.target_id, opened.more_sits_at_least) == ("S2", 1)
    assert "Its inspection is due." in opened.relaxation.sentence
    seats = solve(opened.relaxation.applied_to(with_closed)).seats
    # Below the floor of 50 it stays closed all the same.
    assert {seat.session for seat in seats if seat.stand_id == "S2"} == {on(2)}


def test_nothing_is_proposed_where_every_wish_is_granted() -> None:
    problem = rest_beats_best_fit().problem
    found = gains(problem, solve(problem).seats)
    assert (found.gains, found.without_gain, found.not_tried) == ((), 0, 0)


@pytest.mark.parametrize("block", range(4))
def test_gains_of_tiny_problems_are_those_of_trying_every_plan(block: int) -> None:
    gaining = 0
    for seed in range(7 * block, 7 * block + 7):
        problem = tiny_problem(seed)
        plan = solve(problem).seats
        if len(plan) == sum(member.sits_requested for member in problem.members):
            continue
        now, found = best_levels(problem)[0], gained(problem)
        for relaxation in relaxations(problem):
            relaxed = relaxation.applied_to(problem)
            then = best_levels(relaxed)[0]
            key = (relaxation.code, relaxation.target_id)
            assert found.get(key, 0) == then - now, (seed, key)
            assert not [v for v in audit(relaxed, plan) if not v.only_bookings]
        gaining += len(found)
    assert gaining > 0


def test_out_of_time_what_was_not_tried_is_counted_and_no_gain_is_claimed() -> None:
    problem = wanting_one_more()
    every = sum(1 for _ in relaxations(problem))
    found = gains(problem, solve(problem).seats, time_limit_s=1e-9)
    assert (found.gains, found.without_gain, found.not_tried) == ((), 0, every)
    assert every > 0
