"""The solver against plans known to be best, and against trying every plan."""

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

import pytest

from scheduling.rotation.audit import audit
from scheduling.rotation.candidates import candidates
from scheduling.rotation.greedy import BASELINES, best_fit
from scheduling.rotation.model.blend import blended_score
from scheduling.rotation.model.build import build
from scheduling.rotation.model.search import Search
from scheduling.rotation.model.solve import solve
from scheduling.rotation.problem import PlanMember, RotationProblem, Seat
from scheduling.rotation.result import (
    LevelName,
    Objective,
    Progress,
    RotationResult,
    RotationStatus,
)
from tests.benchmarks.rotation_instances import instance, with_new_forecast
from tests.scheduling.rotation.exhaustive import (
    GUEST,
    accompanied,
    best_levels,
    levels_of,
    tiny_problem,
)
from tests.scheduling.rotation.known_optima import (
    EVENING,
    KNOWN_OPTIMA,
    MORNING,
    KnownOptimum,
    on,
    rest_beats_best_fit,
    who_goes_short,
)


def values(result: RotationResult) -> tuple[float, ...]:
    return tuple(result.level(name).value for name in LevelName)


@pytest.mark.parametrize("known", KNOWN_OPTIMA.values(), ids=KNOWN_OPTIMA.keys())
def test_the_only_best_plan_is_found_and_proven_at_every_level(known: KnownOptimum) -> None:
    result = solve(known.problem)
    assert set(result.seats) == known.best
    assert values(result) == known.levels
    assert result.status is RotationStatus.PROVEN
    assert all(level.gap == 0 for level in result.levels)


@pytest.mark.parametrize("known", KNOWN_OPTIMA.values(), ids=KNOWN_OPTIMA.keys())
def test_best_fit_by_hand_scores_what_was_counted_by_hand(known: KnownOptimum) -> None:
    plan = best_fit(known.problem)
    assert tuple(map(float, levels_of(known.problem, plan))) == known.greedy_levels


@pytest.mark.parametrize("block", range(4))
def test_no_plan_of_a_tiny_problem_beats_the_solver(block: int) -> None:
    for seed in range(50 * block, 50 * block + 50):
        problem = tiny_problem(seed)
        result = solve(problem)
        assert audit(problem, result.seats) == [], seed
        assert levels_of(problem, result.seats) == best_levels(problem), seed
        assert tuple(map(Fraction, values(result)))[:2] == best_levels(problem)[:2], seed
        assert result.status is RotationStatus.PROVEN, seed


def test_every_baseline_breaks_no_rule_and_never_beats_the_solver() -> None:
    problem = instance("small", seed=4)
    best = solve(problem).level(LevelName.SITS).value
    for baseline in BASELINES.values():
        plan = baseline(problem)
        assert audit(problem, plan) == []
        assert 0 < len(plan) <= best


def test_the_same_problem_and_seed_give_the_same_plan_whatever_the_order() -> None:
    problem = instance("small", seed=5)
    shuffled = replace(
        problem,
        members=problem.members[::-1],
        stands=problem.stands[::-1],
        outlooks=problem.outlooks[::-1],
    )
    first, second = solve(problem, seed=7), solve(shuffled, seed=7)
    assert first.seats == second.seats
    assert first.fingerprint == second.fingerprint


def test_running_out_of_time_still_gives_a_plan_with_an_honest_bound() -> None:
    problem = instance("medium", seed=1)
    hurried = solve(problem, time_limit_s=0.05)
    assert audit(problem, hurried.seats) == []
    assert len(hurried.seats) > 100
    assert hurried.status is RotationStatus.BEST_FOUND
    assert all(level.bound >= level.best for level in hurried.levels)
    assert hurried.level(LevelName.SITS).gap > 0


def test_what_an_earlier_search_showed_of_an_aim_proves_it_without_another(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = instance("small", seed=1)
    seats = candidates(problem)
    search = Search.of(problem, seats, build(problem, seats), 1, float("inf"))
    # Not sharpened, so that the linear model alone proves nothing.
    search.sharpener = replace(search.sharpener, stands=())
    quality = search.model.quality
    alone = replace(search, engine=replace(search.engine)).reach(
        LevelName.QUALITY, quality, share_of_time=0.5
    )
    assert not alone.is_bound_exact
    search.improve(quality, share_of_time=0.5, relative_gap=0.0)
    assert quality @ search.point == alone.best
    monkeypatch.setattr(Search, "_search_out", None)
    told = search.reach(LevelName.QUALITY, quality, share_of_time=0.5, at_most=alone.best + 0.5)
    assert told.is_proven
    assert told.bound == alone.bound


@pytest.mark.parametrize("seed", range(20))
def test_the_blended_score_of_a_tiny_problem_meets_no_bound_below_any_plan(seed: int) -> None:
    problem = replace(tiny_problem(seed), published=None)
    result = solve(problem, levels_up_to_columns=0)
    by_levels = solve(problem)
    assert result.objective is Objective.BLENDED
    assert by_levels.objective is Objective.LEVELS
    assert audit(problem, result.seats) == []
    assert result.blended_score == blended_score(problem, result.seats)
    assert result.blended_bound is not None
    assert result.blended_bound >= blended_score(problem, by_levels.seats)
    assert tuple(map(float, levels_of(problem, result.seats))) == values(result)
    for blended, exact in zip(result.levels, by_levels.levels, strict=True):
        assert blended.bound >= exact.best or blended.name is LevelName.CHANGES


def test_the_blended_score_keeps_published_seats_when_a_share_may_be_given_up() -> None:
    problem = instance("small", seed=7)
    published = solve(problem, levels_up_to_columns=0).seats
    moved = with_new_forecast(problem, published=published, seed=1)
    changes = [
        solve(replace(moved, stability_share=share), levels_up_to_columns=0)
        .level(LevelName.CHANGES)
        .value
        for share in (0.0, 0.02, 0.1)
    ]
    assert changes[0] > changes[1] >= changes[2]


def test_bookings_too_close_together_are_named_and_kept() -> None:
    problem = rest_beats_best_fit().problem
    locked = (Seat("A", "S1", on(1)), Seat("B", "S1", on(2)))
    result = solve(replace(problem, locked=locked))
    assert [(conflict.code, conflict.seats) for conflict in result.conflicts] == [
        ("stand_resting", locked)
    ]
    assert set(locked) <= set(result.seats)
    assert "A on S1" in result.conflicts[0].sentence


@pytest.mark.parametrize(
    ("locked", "code"),
    [
        ([Seat("A", "N1", on(1, MORNING)), Seat("A", "N1", on(1, EVENING))], "daily_limit"),
        ([Seat("B", "N1", on(1, MORNING)), Seat("B", "Z1", on(1, MORNING))], "one_stand_a_session"),
        ([Seat("B", "Z1", on(1, MORNING)), Seat("C", "Z1", on(1, MORNING))], "stand_full"),
        ([Seat("C", "Z1", on(1, MORNING)), Seat("C", "N1", on(1, EVENING))], "requested_total"),
    ],
)
def test_each_rule_that_bookings_break_is_named(locked: Iterable[Seat], code: str) -> None:
    problem = replace(who_goes_short().problem, locked=tuple(locked))
    result = solve(problem)
    assert code in {conflict.code for conflict in result.conflicts}
    broken = audit(problem, result.seats)
    assert code in {violation.code for violation in broken}
    assert all(violation.only_bookings for violation in broken)


def test_an_all_day_booking_is_one_use_one_sit_and_two_places() -> None:
    known = who_goes_short()
    both = (Seat("A", "N1", on(1, MORNING)), Seat("A", "N1", on(1, EVENING)))
    problem = replace(known.problem, locked=both, evening_halves=both[1:])
    result = solve(problem)
    assert result.conflicts == ()
    assert audit(problem, result.seats) == []
    # Beside the all-day sit N1 has a place each session, and Z1 one use: B and C get three.
    assert len(result.seats) == 5


def test_a_guest_takes_a_place_of_the_stand_and_of_the_property() -> None:
    problem = who_goes_short().problem
    with_guest = replace(
        problem,
        members=tuple(
            accompanied(member) if member.id == "A" else member for member in problem.members
        ),
        guests=(GUEST,),
    )
    result = solve(with_guest)
    assert audit(with_guest, result.seats) == []
    n1 = [seat for seat in result.seats if seat.stand_id == "N1"]
    assert len(n1) == 1 or "A" not in {seat.member_id for seat in n1}


def test_the_more_may_be_given_up_the_fewer_published_sits_move() -> None:
    problem = instance("small", seed=7)
    published = solve(problem).seats
    moved = with_new_forecast(problem, published=published, seed=1)
    results = [solve(replace(moved, stability_share=share)) for share in (0.0, 0.01, 0.1)]
    changes = [result.level(LevelName.CHANGES).value for result in results]
    assert changes[0] > changes[1] > changes[2]
    for result, share in zip(results, (0.0, 0.01, 0.1), strict=True):
        for name in (LevelName.QUALITY, LevelName.WORST_SERVED):
            assert result.level(name).value >= (1 - share) * result.level(name).best
        assert audit(moved, result.seats) == []


def test_an_empty_problem_has_an_empty_proven_plan() -> None:
    empty = RotationProblem(members=(), stands=(), properties=(), sessions=(), outlooks=())
    result = solve(empty)
    assert result.seats == ()
    assert result.status is RotationStatus.PROVEN


def test_a_member_who_can_sit_nowhere_does_not_hold_down_the_worst_served() -> None:
    problem = rest_beats_best_fit().problem
    nowhere = PlanMember(id="C", sits_requested=2, available=(), properties=("North",))
    result = solve(replace(problem, members=(*problem.members, nowhere)))
    assert result.level(LevelName.WORST_SERVED).value == 65.0


@pytest.mark.parametrize("levels_up_to_columns", [0, 10**9])
def test_progress_is_told_with_a_bound_and_whoever_hears_it_may_end_the_search(
    levels_up_to_columns: int,
) -> None:
    problem = instance("small", seed=6)
    heard: list[Progress] = []
    result = solve(problem, levels_up_to_columns=levels_up_to_columns, told=heard.append)
    assert heard
    assert all(step.best <= step.bound for step in heard)
    if result.objective is Objective.LEVELS:
        reached = {step.aim: step.best for step in heard}
        assert reached[LevelName.SITS] == result.level(LevelName.SITS).best

    def enough(_step: Progress) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        solve(problem, levels_up_to_columns=levels_up_to_columns, told=enough)
