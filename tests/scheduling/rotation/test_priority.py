"""Who has priority comes before others of as many sits, and costs nobody a sit."""

from dataclasses import replace

import pytest

from scheduling.rotation.gather import gather
from scheduling.rotation.model.blend import blended_score
from scheduling.rotation.model.solve import solve
from scheduling.rotation.problem import InvalidProblem, RotationProblem
from scheduling.rotation.result import LevelName
from tests.cast import NOW
from tests.scheduling.rotation.known_optima import on, rest_beats_best_fit
from tests.scheduling.rotation.test_plans_that_are_published import FIRST, LAST, wish
from tests.scheduling.sits.stage import make_stage


def one_seat(priority_of_a: int, priority_of_b: int) -> RotationProblem:
    """A and B alike, one evening, one place; A would win by preference."""
    problem = rest_beats_best_fit().problem
    evening = on(1)
    members = tuple(
        replace(
            member,
            available=(evening,),
            priority_points=points,
            preference_percent={"S1": percent},
        )
        for member, points, percent in zip(
            problem.members, (priority_of_a, priority_of_b), (100, 80), strict=True
        )
    )
    return replace(problem, members=members)


@pytest.mark.parametrize(("of_a", "of_b", "winner"), [(0, 0, "A"), (0, 1, "B"), (2, 1, "A")])
def test_the_one_place_goes_to_whoever_has_priority(of_a: int, of_b: int, winner: str) -> None:
    problem = one_seat(of_a, of_b)
    result = solve(problem)
    assert [seat.member_id for seat in result.seats] == [winner]
    assert result.level(LevelName.FIRST_WISHES).value == 4 + max(of_a, of_b)
    blended = solve(problem, levels_up_to_columns=0)
    assert [seat.member_id for seat in blended.seats] == [winner]
    assert blended.blended_score == blended_score(problem, blended.seats)


def test_priority_never_costs_a_sit() -> None:
    problem = rest_beats_best_fit().problem
    a, b = problem.members
    # A's best evening in the middle would leave B without; A's priority does not get it.
    favoured = replace(problem, members=(replace(a, priority_points=10), b))
    assert solve(favoured).seats == solve(problem).seats
    assert len(solve(favoured).seats) == 2


def test_negative_priority_is_refused() -> None:
    with pytest.raises(InvalidProblem, match="negative"):
        one_seat(-1, 0)


def test_the_points_of_a_membership_reach_the_problem(cast):
    stage = make_stage(cast)
    wish(stage, stage.cast.member, 1)
    wish(stage, stage.ben, 1)
    stage.ben.member.priority_points = 3
    stage.ben.member.save()
    problem = gather(lands=[stage.cast.north], first_on=FIRST, last_on=LAST, now=NOW).problem
    points = {member.id: member.priority_points for member in problem.members}
    assert points == {str(stage.cast.member.id): 0, str(stage.ben.id): 3}
