"""Why a member went short: every obstacle named is real, and no other."""

from dataclasses import replace

import pytest

from scheduling.rotation.explain import check, explain
from scheduling.rotation.model.solve import solve
from scheduling.rotation.problem import Seat
from tests.benchmarks.rotation_instances import instance
from tests.scheduling.rotation.exhaustive import tiny_problem
from tests.scheduling.rotation.known_optima import (
    EVENING,
    MORNING,
    on,
    rest_beats_best_fit,
    who_goes_short,
)


def test_the_member_left_out_learns_which_use_keeps_the_stand_resting() -> None:
    problem = rest_beats_best_fit().problem
    wishes = explain(problem, [Seat("A", "S1", on(2))])
    assert [wish.member_id for wish in wishes] == ["B"]
    codes = {(obstacle.seat.session, obstacle.code) for obstacle in wishes[0].obstacles}
    assert codes == {(on(2), "stand_full"), (on(3), "stand_resting")}
    resting = next(o for o in wishes[0].obstacles if o.code == "stand_resting")
    assert resting.in_the_way == (Seat("A", "S1", on(2)),)
    assert "rests" in resting.sentence
    assert "2 days" in resting.sentence


def test_a_members_own_daily_limit_is_named_as_such() -> None:
    known = who_goes_short()
    wishes = {wish.member_id: wish for wish in explain(known.problem, known.best)}
    assert set(wishes) == {"A", "B"}
    of_a = {(o.seat.session.kind, o.code) for o in wishes["A"].obstacles}
    assert of_a == {(EVENING, "stand_resting"), (EVENING, "daily_limit")}
    assert {o.code for o in wishes["B"].obstacles if o.seat.session.kind == MORNING} == {
        "stand_full",
        "stand_resting",
    }


def test_a_stand_closed_by_the_wind_is_named_with_its_fit() -> None:
    problem = replace(rest_beats_best_fit().problem, fit_floor_percent=68)
    wishes = explain(problem, [Seat("A", "S1", on(1))])
    closed = [o for o in wishes[0].obstacles if o.code == "stand_not_offered"]
    assert [o.seat.session for o in closed] == [on(3)]
    assert "65 %" in closed[0].sentence
    assert closed[0].in_the_way == ()


def test_a_seat_that_no_rule_forbids_is_said_to_be_open() -> None:
    problem = rest_beats_best_fit().problem
    wishes = {wish.member_id: wish for wish in explain(problem, [Seat("A", "S1", on(1))])}
    assert {(o.seat.session, o.code) for o in wishes["B"].obstacles} == {
        (on(2), "stand_resting"),
        (on(3), "still_open"),
    }


@pytest.mark.parametrize("seed", range(25))
def test_every_obstacle_is_what_the_audit_counts(seed: int) -> None:
    problem = tiny_problem(seed)
    plan = solve(problem).seats
    assert check(problem, plan, explain(problem, plan)) == []


def test_no_seat_of_a_proven_plan_is_still_open_to_a_member_who_went_short() -> None:
    problem = instance("small", seed=3)
    plan = solve(problem).seats
    wishes = explain(problem, plan)
    assert wishes
    assert check(problem, plan, wishes) == []
    assert not [o for wish in wishes for o in wish.obstacles if o.code == "still_open"]
