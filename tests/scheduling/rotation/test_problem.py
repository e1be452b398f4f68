"""The problem as data: checked when built, saved, read back, and recognised."""

import json
from dataclasses import replace

import pytest

from scheduling.rotation.problem import InvalidProblem, PlanStand, Seat
from scheduling.rotation.serialised import from_json
from scheduling.rules.uses import Use
from tests.benchmarks.rotation_instances import instance
from tests.scheduling.rotation.exhaustive import tiny_problem
from tests.scheduling.rotation.known_optima import certain, on, rest_beats_best_fit


@pytest.mark.parametrize("seed", range(20))
def test_a_problem_read_back_is_the_same_problem(seed: int) -> None:
    problem = tiny_problem(seed)
    again = from_json(problem.to_json())
    assert again == problem
    assert again.fingerprint() == problem.fingerprint()


def test_a_problem_saved_before_guests_were_planned_is_read_back() -> None:
    problem = rest_beats_best_fit().problem
    problem = replace(problem, locked=(Seat("A", "S1", on(1)),))
    old = json.loads(problem.to_json())
    del old["guests"]
    old["locked"] = [seat[:3] for seat in old["locked"]]
    for member in old["members"]:
        member["party"] = 1
        for name in ("with_guests", "not_there", "not_at"):
            del member[name]
    for place in old["properties"]:
        for name in ("guest_sits_a_host", "guest_sits_held", "year_first_month"):
            del place[name]
    assert from_json(json.dumps(old)) == problem


def test_the_fingerprint_sees_every_change_and_no_order() -> None:
    problem = instance("small", seed=1)
    assert replace(problem, members=problem.members[::-1]).fingerprint() == problem.fingerprint()
    outlook = problem.outlooks[0]
    nudged = replace(outlook, fit_percent=(outlook.fit_percent + 1) % 100)
    changed = replace(problem, outlooks=(nudged, *problem.outlooks[1:]))
    assert changed.fingerprint() != problem.fingerprint()


def test_the_generator_gives_the_same_problem_for_the_same_seed_only() -> None:
    first = instance("small", seed=1).fingerprint()
    assert instance("small", seed=1).fingerprint() == first
    assert instance("small", seed=2).fingerprint() != first


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"stands": (PlanStand(id="S1", property_id="Nowhere"),)}, "unknown property"),
        ({"stands": (PlanStand(id="S1", property_id="North", capacity=0),)}, "out of range"),
        ({"sessions": (on(1), on(1), on(2), on(3))}, "given twice"),
        ({"locked": (Seat("Z", "S1", on(1)),)}, "unknown member"),
        ({"locked": (Seat("A", "S1", on(9)),)}, "outside the plan's sessions"),
        ({"evening_halves": (Seat("A", "S1", on(1)),)}, "not locked"),
        (
            {"uses_outside": (Use(stand_id="S1", session=on(1), sector_per_mille=certain("N")),)},
            "within the plan's sessions",
        ),
        ({"stability_share": 1.5}, "outside 0..1"),
    ],
)
def test_a_contradictory_problem_is_refused_with_the_reason(changes: dict, message: str) -> None:
    with pytest.raises(InvalidProblem, match=message):
        replace(rest_beats_best_fit().problem, **changes)


@pytest.mark.parametrize("text", ["", "{}", "[]", '{"members": 3}'])
def test_text_that_holds_no_problem_is_refused(text: str) -> None:
    with pytest.raises(InvalidProblem):
        from_json(text)
