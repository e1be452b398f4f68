"""All-day sits that are wished: both sessions on one stand, one sit, one use, or nothing."""

from dataclasses import replace

import pytest

from scheduling.rotation.audit import audit
from scheduling.rotation.explain import check, explain
from scheduling.rotation.greedy import BASELINES
from scheduling.rotation.model.blend import blended_score
from scheduling.rotation.model.solve import solve
from scheduling.rotation.problem import Exclusion, InvalidProblem, RotationProblem, Seat
from scheduling.rotation.result import LevelName, RotationStatus
from scheduling.rotation.serialised import from_json
from tests.scheduling.rotation.exhaustive import (
    best_levels,
    levels_of,
    tiny_problem_with_whole_days,
)
from tests.scheduling.rotation.known_optima import (
    EVENING,
    MORNING,
    on,
    who_goes_short,
)

DAY = on(1).local_date
MORNING_OF, EVENING_OF = on(1, MORNING), on(1, EVENING)


def with_a_whole_day(**changes) -> RotationProblem:
    """N1 for two and Z1 for one, one day; A wishes the whole of it, B a session."""
    problem = who_goes_short().problem
    a, b, _c = problem.members
    a = replace(a, available=(), all_day_on=(DAY,), sits_requested=1)
    b = replace(b, properties=("North",), sits_requested=1, sits_per_day=1)
    return replace(problem, members=(a, b), **changes)


def halves(member: str, stand: str) -> tuple[Seat, Seat]:
    return Seat(member, stand, MORNING_OF), Seat(member, stand, EVENING_OF)


def test_a_wished_day_is_one_sit_in_two_sessions_and_one_use_of_the_stand() -> None:
    problem = with_a_whole_day()
    result = solve(problem)
    assert audit(problem, result.seats) == []
    assert set(halves("A", "N1")) <= set(result.seats)
    # N1 bears one use a day: B joins A's in the morning, for the evening is no use anew.
    assert Seat("B", "N1", MORNING_OF) in result.seats
    assert result.level(LevelName.SITS).value == 2
    assert result.status is RotationStatus.PROVEN


def test_half_a_day_is_not_given_where_one_of_its_sessions_is_closed() -> None:
    problem = with_a_whole_day()
    closed = tuple(
        replace(one, closed_because="Closed.") if one.session == EVENING_OF else one
        for one in problem.outlooks
    )
    result = solve(replace(problem, outlooks=closed))
    assert not [seat for seat in result.seats if seat.member_id == "A"]


def test_nobody_is_planned_to_join_a_whole_day_in_its_evening() -> None:
    problem = with_a_whole_day()
    joined = (*halves("A", "N1"), Seat("B", "N1", EVENING_OF))
    assert {violation.code for violation in audit(problem, joined)} == {"joins_all_day"}
    wishes = explain(problem, halves("A", "N1"))
    codes = {o.code for wish in wishes for o in wish.obstacles if o.seat.session == EVENING_OF}
    assert codes == {"joins_all_day"}
    assert check(problem, halves("A", "N1"), wishes) == []


def test_half_of_a_wished_day_is_found_by_the_audit() -> None:
    problem = with_a_whole_day()
    for half in halves("A", "N1"):
        assert {violation.code for violation in audit(problem, (half,))} == {"all_day"}


def test_a_stand_in_use_all_day_keeps_its_neighbour_out_of_the_evening_too() -> None:
    known = who_goes_short().problem
    a, b, _c = known.members
    a = replace(a, available=(), all_day_on=(DAY,), sits_requested=1)
    b = replace(b, available=(EVENING_OF,), properties=("South",), sits_requested=1)
    apart = replace(known, members=(a, b), exclusions=())
    together = replace(apart, exclusions=(Exclusion(stand_ids=("N1", "Z1")),))
    assert solve(apart).level(LevelName.SITS).value == 2
    assert solve(together).level(LevelName.SITS).value == 1


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"available": (MORNING_OF,)}, "both as a whole"),
        ({"all_day_on": (on(9).local_date,)}, "not planned"),
    ],
)
def test_a_day_wished_in_two_ways_or_outside_the_plan_is_refused(changes, words) -> None:
    problem = with_a_whole_day()
    member = replace(problem.members[0], **changes)
    with pytest.raises(InvalidProblem, match=words):
        replace(problem, members=(member, *problem.members[1:]))


def test_a_whole_day_beside_a_booking_of_that_day_is_refused() -> None:
    problem = with_a_whole_day()
    with pytest.raises(InvalidProblem, match="holds a booking"):
        replace(problem, locked=(Seat("A", "Z1", MORNING_OF),))


def test_a_problem_with_whole_days_is_read_back_as_it_was_saved() -> None:
    problem = with_a_whole_day()
    assert from_json(problem.to_json()) == problem


@pytest.mark.parametrize("block", range(10))
def test_no_plan_of_a_tiny_problem_with_whole_days_is_better(block: int) -> None:
    given = 0
    for seed in range(15 * block, 15 * block + 15):
        problem = tiny_problem_with_whole_days(seed)
        result = solve(problem)
        levels = tuple(level.value for level in result.levels)
        assert audit(problem, result.seats) == [], seed
        assert levels == tuple(map(float, levels_of(problem, result.seats))), seed
        assert levels == tuple(map(float, best_levels(problem))), seed
        assert check(problem, result.seats, explain(problem, result.seats)) == [], seed
        given += sum(problem.is_of_wished_day(seat) for seat in result.seats)
    assert given > 0


@pytest.mark.parametrize("seed", range(20))
def test_plans_made_by_hand_and_by_one_score_keep_whole_days_whole(seed: int) -> None:
    problem = tiny_problem_with_whole_days(seed)
    for baseline in BASELINES.values():
        assert audit(problem, baseline(problem)) == []
    result = solve(replace(problem, published=None), levels_up_to_columns=0)
    assert audit(problem, result.seats) == []
    assert result.blended_score == blended_score(problem, result.seats)
