"""Days that all want count more toward what a member received, past and planned."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from properties.sessions.kinds import SessionKind
from scheduling.rotation.gather import gather
from scheduling.rotation.model.solve import solve
from scheduling.rotation.problem import InvalidProblem, PlanMember, RotationProblem
from scheduling.rotation.result import LevelName
from scheduling.sits.models import Sit, SitState
from tests.cast import NOW
from tests.scheduling.rotation.known_optima import on, rest_beats_best_fit
from tests.scheduling.rotation.test_plans_that_are_published import FIRST, LAST, wish
from tests.scheduling.sits.stage import make_stage


def two_evenings(*percents: int) -> RotationProblem:
    """One stand, two evenings of equal fit, A and B free on both; A received more before."""
    problem = rest_beats_best_fit().problem
    sessions = (on(1), on(2))
    members = tuple(
        PlanMember(
            id=name,
            sits_requested=1,
            available=sessions,
            properties=("North",),
            entitlement=1,
            received_quality=received,
        )
        for name, received in (("A", 20), ("B", 0))
    )
    outlooks = tuple(
        replace(problem.outlooks[number], fit_percent=80, share_percent=percents[number])
        for number in range(2)
    )
    stand = replace(problem.stands[0], rest_days=1)
    return replace(problem, members=members, sessions=sessions, outlooks=outlooks, stands=(stand,))


@pytest.mark.parametrize(("percents", "day_of_b"), [((100, 150), 2), ((150, 100), 1)])
def test_the_opener_goes_to_whoever_received_less(percents, day_of_b) -> None:
    result = solve(two_evenings(*percents))
    (of_b,) = [seat for seat in result.seats if seat.member_id == "B"]
    assert of_b.session == on(day_of_b)
    # A: 20 + 80, B: 120.
    assert result.level(LevelName.WORST_SERVED).value == 100
    assert result.level(LevelName.QUALITY).value == 160


def test_a_seat_that_counts_less_than_nothing_is_refused() -> None:
    with pytest.raises(InvalidProblem, match="less than nothing"):
        two_evenings(100, -1)


@pytest.fixture
def stage(cast):
    return make_stage(cast)


def problem_of(stage) -> RotationProblem:
    return gather(lands=[stage.cast.north], first_on=FIRST, last_on=LAST, now=NOW).problem


def past_sit(stage, day: date, fit: float | None) -> None:
    ended = NOW - timedelta(days=(NOW.date() - day).days)
    Sit.objects.create(
        property=stage.cast.north,
        stand=stage.oak,
        person=stage.cast.member,
        local_date=day,
        span=SessionKind.EVENING,
        starts_at=ended - timedelta(hours=4),
        ends_at=ended - timedelta(hours=1),
        state=SitState.REPORTED,
        fit=fit,
    )


def test_each_planned_day_counts_by_its_class(stage):
    stage.cast.cooperative.settings = {
        "rotation": {"rut_percent": 200, "weekend_percent": 170},
        "sits": {"rut_from": "11-05", "rut_until": "11-06"},
    }
    stage.cast.cooperative.save()
    percents = {o.session.local_date.day: o.share_percent for o in problem_of(stage).outlooks}
    # 5 November 2025 is a Wednesday.
    assert percents == {5: 200, 6: 200, 7: 100, 8: 170, 9: 170}


def test_past_sits_count_by_the_class_of_their_day_and_half_where_no_fit_is_known(stage):
    wish(stage, stage.cast.member, 1)
    stage.cast.cooperative.settings = {"sits": {"rut_from": "12-01", "rut_until": "12-02"}}
    stage.cast.cooperative.save()
    past_sit(stage, date(2025, 10, 2), 0.8)  # the second day of the season
    past_sit(stage, date(2025, 10, 14), 0.6)  # a Tuesday
    past_sit(stage, date(2025, 10, 18), None)  # a Saturday
    (member,) = problem_of(stage).members
    assert member.received_quality == round(80 * 1.5 + 60 + 50 * 1.2)
