"""What one rule loosened by a step would serve, against counting by hand and every plan."""

from dataclasses import replace

import pytest

from scheduling.rotation.audit import audit
from scheduling.rotation.model.solve import solve
from scheduling.rotation.problem import Outlook, PlanStand, RotationProblem
from scheduling.rotation.relaxations import Basis, gains, relaxations
from scheduling.rules.catalogue import objection
from tests.scheduling.rotation.exhaustive import best_levels, tiny_problem
from tests.scheduling.rotation.known_optima import (
    certain,
    on,
    rest_beats_best_fit,
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


def with_closed_evening(*, is_dark_day: bool) -> RotationProblem:
    """A second stand that would serve the wish left over, closed on its one good evening."""
    problem = wanting_one_more()
    closed = tuple(
        Outlook(
            stand_id="S2",
            session=on(day),
            fit_percent=fit,
            sector_per_mille=certain("N"),
            closed_because="Nobody sits there then.",
            is_dark_day=is_dark_day,
        )
        for day, fit in ((1, 40), (2, 80), (3, 40))
    )
    return replace(
        problem,
        stands=(*problem.stands, PlanStand(id="S2", property_id="North")),
        outlooks=(*problem.outlooks, *closed),
    )


def test_a_dark_day_is_shown_to_the_manager_with_what_it_would_serve() -> None:
    problem = with_closed_evening(is_dark_day=True)
    assert gained(problem)["dark_day", "North"] == 1
    opened = next(r for r in relaxations(problem) if r.code == "dark_day")
    seats = solve(opened.applied_to(problem)).seats
    # Below the floor of 50 it stays closed all the same.
    assert {seat.session for seat in seats if seat.stand_id == "S2"} == {on(2)}


def test_a_stand_closed_for_any_other_reason_is_never_opened() -> None:
    problem = with_closed_evening(is_dark_day=False)
    for relaxation in relaxations(problem):
        assert not [
            outlook
            for outlook in relaxation.applied_to(problem).outlooks
            if outlook.stand_id == "S2" and not outlook.closed_because
        ]


@pytest.mark.parametrize("seed", range(20))
def test_only_rules_that_a_manager_may_overrule_are_loosened(seed: int) -> None:
    problem = tiny_problem(seed)
    for relaxation in relaxations(problem):
        assert objection(relaxation.code).overrulable
        relaxed = relaxation.applied_to(problem)
        assert relaxed.exclusions == problem.exclusions
        assert [stand.capacity for stand in relaxed.stands] == [s.capacity for s in problem.stands]
        assert [place.hunters_a_session for place in relaxed.properties] == [
            place.hunters_a_session for place in problem.properties
        ]


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


def test_whoever_is_told_of_progress_may_end_the_work() -> None:
    problem, told = wanting_one_more(), []

    def enough(number: int, of: int) -> None:
        told.append((number, of))
        if number == 1:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        gains(problem, solve(problem).seats, tried=enough)
    assert told == [(0, told[0][1]), (1, told[0][1])]
