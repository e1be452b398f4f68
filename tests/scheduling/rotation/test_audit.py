"""The audit finds what was planted, and nothing in a clean plan."""

from collections.abc import Iterable
from dataclasses import replace

import pytest

from scheduling.rotation.audit import audit
from scheduling.rotation.problem import PlanProperty, RotationProblem, Seat
from scheduling.rules.uses import Use
from tests.scheduling.rotation.known_optima import (
    EVENING,
    KNOWN_OPTIMA,
    MORNING,
    KnownOptimum,
    certain,
    on,
    rest_beats_best_fit,
    same_wind_with_history,
    who_goes_short,
)


def codes(problem: RotationProblem, seats: Iterable[Seat]) -> set[str]:
    return {violation.code for violation in audit(problem, seats)}


@pytest.mark.parametrize("known", KNOWN_OPTIMA.values(), ids=KNOWN_OPTIMA.keys())
def test_a_clean_plan_is_clean(known: KnownOptimum) -> None:
    assert audit(known.problem, known.best) == []


def test_two_uses_within_the_rest_are_found() -> None:
    problem = rest_beats_best_fit().problem
    plan = [Seat("A", "S1", on(1)), Seat("B", "S1", on(2))]
    found = audit(problem, plan)
    assert [violation.code for violation in found] == ["stand_resting"]
    assert set(found[0].seats) == set(plan)
    assert not found[0].only_bookings


def test_a_past_use_within_the_rest_is_found() -> None:
    past = Use(stand_id="S1", session=on(0), sector_per_mille=certain("E"))
    problem = replace(rest_beats_best_fit().problem, uses_outside=(past,))
    assert codes(problem, [Seat("A", "S1", on(1))]) == {"stand_resting"}
    assert codes(problem, [Seat("A", "S1", on(2))]) == set()


def test_a_disturbed_stand_rests_longer() -> None:
    past = Use(stand_id="S1", session=on(0), sector_per_mille=certain("E"), rest_days=3)
    problem = replace(rest_beats_best_fit().problem, uses_outside=(past,))
    assert codes(problem, [Seat("A", "S1", on(2))]) == {"stand_resting"}
    assert codes(problem, [Seat("B", "S1", on(3))]) == set()


def test_a_use_too_many_on_one_wind_is_found() -> None:
    problem = same_wind_with_history().problem
    plan = [Seat("A", "S1", on(1)), Seat("A", "S1", on(2))]
    assert codes(problem, plan) == {"same_wind"}


def test_an_expected_use_counts_by_its_chance_to_the_last_per_mille() -> None:
    problem = same_wind_with_history().problem
    for share, expected in ((0, set()), (1, {"same_wind"})):
        chance = list(certain("S"))
        chance[7], chance[4] = share, 1000 - share
        moved = tuple(
            replace(o, sector_per_mille=tuple(chance))
            if (o.stand_id, o.session) == ("S1", on(2))
            else o
            for o in problem.outlooks
        )
        plan = [Seat("A", "S1", on(1)), Seat("A", "S1", on(2))]
        assert codes(replace(problem, outlooks=moved), plan) == expected


@pytest.mark.parametrize(
    ("seats", "code"),
    [
        ([("B", "Z1", MORNING), ("C", "Z1", MORNING)], "stand_full"),
        ([("B", "N1", MORNING), ("B", "Z1", MORNING)], "one_stand_a_session"),
        ([("A", "N1", MORNING), ("A", "N1", EVENING)], "daily_limit"),
        ([("C", "N1", MORNING), ("C", "Z1", EVENING)], "requested_total"),
        ([("A", "Z1", MORNING)], "no_access"),
        ([("B", "Z1", MORNING), ("B", "Z1", MORNING)], "seat_given_twice"),
    ],
)
def test_each_planted_fault_is_found(seats: list[tuple], code: str) -> None:
    plan = [Seat(member, stand, on(1, kind)) for member, stand, kind in seats]
    assert code in codes(who_goes_short().problem, plan)


def test_an_overfull_property_is_found() -> None:
    problem = replace(
        who_goes_short().problem,
        properties=(PlanProperty(id="North", hunters_a_session=1), PlanProperty(id="South")),
    )
    plan = [Seat("A", "N1", on(1, MORNING)), Seat("C", "N1", on(1, MORNING))]
    assert codes(problem, plan) == {"property_full"}


def test_neighbours_used_together_are_found() -> None:
    problem = same_wind_with_history().problem
    plan = [Seat("A", "S1", on(1)), Seat("B", "S2", on(1))]
    assert codes(problem, plan) == {"neighbour_in_use"}


def test_a_closed_stand_an_unwanted_stand_and_a_busy_day_are_found() -> None:
    problem = same_wind_with_history().problem
    assert codes(problem, [Seat("A", "S1", on(4))]) == {"stand_not_offered"}
    rest = rest_beats_best_fit().problem
    assert codes(rest, [Seat("A", "S1", on(3))]) == {"member_not_free"}
    unwanted = replace(
        rest, members=tuple(replace(m, preference_percent={"S1": 0}) for m in rest.members)
    )
    assert codes(unwanted, [Seat("A", "S1", on(1))]) == {"stand_not_wanted"}


def test_a_moved_booking_is_found() -> None:
    problem = replace(rest_beats_best_fit().problem, locked=(Seat("A", "S1", on(1)),))
    assert codes(problem, [Seat("A", "S1", on(2))]) == {"booking_moved"}


def test_bookings_alone_at_fault_are_told_apart_from_the_plans_own_faults() -> None:
    problem = rest_beats_best_fit().problem
    locked = (Seat("A", "S1", on(1)), Seat("B", "S1", on(2)))
    found = audit(replace(problem, locked=locked), locked)
    assert [violation.only_bookings for violation in found] == [True]
