"""Rotation against values from outside: assignment, greatest minimum, the rest bound."""

from collections import Counter
from math import ceil

import pytest

from scheduling.rotation.audit import audit
from scheduling.rotation.model.solve import solve
from scheduling.rotation.problem import (
    Outlook,
    PlanMember,
    PlanProperty,
    PlanStand,
    RotationProblem,
)
from scheduling.rotation.result import LevelName, RotationStatus
from tests.scheduling.rotation.known_optima import certain, on


def assignment(quality: list[list[int]], *, with_unlucky_member: bool) -> RotationProblem:
    """Each row a member, each column a stand; one evening, one sit each.

    An unlucky member, whose only stand is worth nothing, holds the worst-served share at 0
    whatever the others get, so that the total alone decides.
    """
    columns = range(len(quality[0]))
    members = [
        PlanMember(
            id=f"M{number}",
            sits_requested=1,
            available=(on(1),),
            properties=("P",),
            preference_percent={f"S{column}": row[column] for column in columns},
        )
        for number, row in enumerate(quality)
    ]
    fits = {f"S{column}": 100 for column in columns}
    places = {f"S{column}": "P" for column in columns}
    if with_unlucky_member:
        members.append(PlanMember(id="Z", sits_requested=1, available=(on(1),), properties=("Q",)))
        fits["T"], places["T"] = 0, "Q"
    return RotationProblem(
        members=tuple(members),
        stands=tuple(PlanStand(id=stand, property_id=place) for stand, place in places.items()),
        properties=(PlanProperty(id="P"), PlanProperty(id="Q")),
        sessions=(on(1),),
        outlooks=tuple(
            Outlook(stand_id=stand, session=on(1), fit_percent=fit, sector_per_mille=certain("N"))
            for stand, fit in fits.items()
        ),
    )


@pytest.mark.parametrize(
    ("costs", "least"),
    [
        # scipy's documentation of linear_sum_assignment.
        ([[4, 1, 3], [2, 0, 5], [3, 2, 2]], 5),
        # OR-Tools' documentation, assignment example; from memory, recomputed with scipy.
        (
            [
                [90, 80, 75, 70],
                [35, 85, 55, 65],
                [125, 95, 90, 95],
                [45, 110, 95, 115],
                [50, 100, 90, 100],
            ],
            265,
        ),
    ],
)
def test_total_quality_solves_the_assignment_problem(costs: list[list[int]], least: int) -> None:
    quality = [[200 - cost for cost in row] for row in costs]
    result = solve(assignment(quality, with_unlucky_member=True))
    assigned = min(len(costs), len(costs[0]))
    assert result.level(LevelName.QUALITY).value == 200 * assigned - least
    assert result.status is RotationStatus.PROVEN


def test_the_greatest_sum_and_the_greatest_minimum_are_different_plans() -> None:
    # Common practice, no source: counted by hand, 20 + 4 = 24 against 5 and 6.
    quality = [[20, 5], [6, 4]]
    by_sum = solve(assignment(quality, with_unlucky_member=True))
    assert by_sum.level(LevelName.QUALITY).value == 24
    by_minimum = solve(assignment(quality, with_unlucky_member=False))
    assert by_minimum.level(LevelName.WORST_SERVED).value == 5
    assert by_minimum.level(LevelName.QUALITY).value == 11


@pytest.mark.parametrize(
    ("stands", "evenings", "rested", "members", "shares"),
    [
        # At most S·⌈N/(R+1)⌉ sits: three stands, seven evenings, two evenings' rest give nine,
        # four members 3 2 2 2; four stands, ten evenings, one evening's rest give twenty.
        # Computed, agreed by an independent solver.
        (3, 7, 2, 4, [3, 2, 2, 2]),
        (4, 10, 1, 5, [4, 4, 4, 4, 4]),
    ],
)
def test_the_rest_rule_bounds_the_sits_and_the_plan_reaches_the_bound(
    stands: int, evenings: int, rested: int, members: int, shares: list[int]
) -> None:
    sessions = tuple(on(day) for day in range(1, evenings + 1))
    problem = RotationProblem(
        members=tuple(
            PlanMember(
                id=f"M{number}", sits_requested=evenings, available=sessions, properties=("P",)
            )
            for number in range(members)
        ),
        stands=tuple(
            PlanStand(id=f"S{number}", property_id="P", rest_days=rested + 1)
            for number in range(stands)
        ),
        properties=(PlanProperty(id="P"),),
        sessions=sessions,
        outlooks=tuple(
            Outlook(
                stand_id=f"S{number}",
                session=session,
                fit_percent=80,
                sector_per_mille=certain("N"),
            )
            for number in range(stands)
            for session in sessions
        ),
        same_wind_cap=None,
    )
    result = solve(problem)
    assert result.status is RotationStatus.PROVEN
    assert len(result.seats) == stands * ceil(evenings / (rested + 1)) == sum(shares)
    counted = Counter(seat.member_id for seat in result.seats)
    assert sorted(counted.values(), reverse=True) == shares
    assert audit(problem, result.seats) == []
