"""A soft same-wind cap: more uses where they serve a sit, at a price, and named."""

from dataclasses import replace

import numpy as np
import pytest

from scheduling.rotation.audit import audit, excesses
from scheduling.rotation.candidates import candidates
from scheduling.rotation.explain import check, explain
from scheduling.rotation.greedy import BASELINES
from scheduling.rotation.model.blend import blended_score
from scheduling.rotation.model.build import build
from scheduling.rotation.model.polish import polish
from scheduling.rotation.model.search import Search
from scheduling.rotation.model.solve import solve
from scheduling.rotation.problem import (
    InvalidProblem,
    PlanMember,
    PlanProperty,
    RotationProblem,
    Seat,
)
from scheduling.rotation.result import LevelName
from scheduling.rotation.serialised import from_json
from scheduling.rules.uses import Use
from tests.scheduling.rotation.exhaustive import (
    best_levels,
    levels_of,
    tiny_problem,
    tiny_problem_with_whole_days,
)
from tests.scheduling.rotation.known_optima import certain, on, rest_beats_best_fit


def three_evenings(*, excess: int, price: int = 40, cap: int = 1, requested: int = 3):
    """One stand without rest, three evenings of north wind, one member."""
    problem = rest_beats_best_fit().problem
    member = PlanMember(
        id="A", sits_requested=requested, available=problem.sessions, properties=("North",)
    )
    stand = replace(problem.stands[0], rest_days=1, same_wind_excess=excess)
    return replace(
        problem, members=(member,), stands=(stand,), same_wind_cap=cap, excess_price=price
    )


@pytest.mark.parametrize(("excess", "sits"), [(0, 1), (1, 2), (2, 3)])
def test_so_many_uses_more_are_planned_as_the_stand_tolerates(excess: int, sits: int) -> None:
    problem = three_evenings(excess=excess)
    result = solve(problem)
    assert result.level(LevelName.SITS).value == sits
    assert audit(problem, result.seats) == []
    named = excesses(problem, result.seats)
    assert [one.per_mille for one in named] == ([1000 * excess] if excess else [])
    assert sum(one.price for one in named) == 2 * 40 * excess
    quality = sum(problem.quality_percent(seat) for seat in result.seats)
    assert result.level(LevelName.QUALITY).value == quality - 2 * 40 * excess


def test_the_excess_is_named_with_the_wind_and_counts_past_uses() -> None:
    past = Use(stand_id="S1", session=on(0), sector_per_mille=certain("N"))
    problem = replace(three_evenings(excess=1, requested=1), uses_outside=(past,))
    (named,) = excesses(problem, [Seat("A", "S1", on(1))])
    assert named.sentence == "S1 exceeds its soft cap of 1 uses in 10 days by 1 on north wind."


def test_what_was_used_before_beyond_the_cap_is_no_excess_of_the_plan() -> None:
    past = tuple(
        Use(stand_id="S1", session=on(-day), sector_per_mille=certain("N")) for day in range(3)
    )
    problem = replace(three_evenings(excess=3), uses_outside=past)
    (named,) = excesses(problem, [Seat("A", "S1", on(1))])
    assert named.per_mille == 1000
    # A cap of 1 and 3 more bear four uses; three have been.
    assert solve(problem).level(LevelName.SITS).value == 1


def test_a_dear_excess_gives_way_where_another_stand_serves_the_sit_too() -> None:
    cheap, dear = (replace(with_another_stand(), excess_price=price) for price in (0, 100))
    assert stands_of("A", cheap) == {"S1"}
    assert stands_of("A", dear) == {"S1", "S2"}


def stands_of(member: str, problem: RotationProblem) -> set[str]:
    return {seat.stand_id for seat in solve(problem).seats if seat.member_id == member}


def with_another_stand() -> RotationProblem:
    """A second stand, worse on every evening; and B, who is worst served whatever A gets."""
    problem = three_evenings(excess=2)
    good = problem.stands[0]
    stands = (
        good,
        replace(good, id="S2", same_wind_excess=0, quality_percent=70),
        replace(good, id="S3", same_wind_excess=0, property_id="South"),
    )
    a = replace(problem.members[0], sits_requested=2, received_quality=10_000)
    b = replace(a, id="B", sits_requested=1, received_quality=0, properties=("South",))
    return replace(
        problem,
        members=(a, b),
        stands=stands,
        properties=(*problem.properties, PlanProperty(id="South")),
        outlooks=tuple(
            replace(one, stand_id=stand.id) for stand in stands for one in problem.outlooks
        ),
    )


def test_beyond_what_is_tolerated_the_cap_is_hard() -> None:
    problem = three_evenings(excess=1)
    plan = [Seat("A", "S1", on(day)) for day in (1, 2, 3)]
    assert {violation.code for violation in audit(problem, plan)} == {"same_wind"}
    wishes = explain(problem, plan[:2])
    assert {o.code for wish in wishes for o in wish.obstacles} == {"same_wind"}
    assert check(problem, plan[:2], wishes) == []


def test_bookings_beyond_the_soft_cap_are_priced_and_kept() -> None:
    locked = tuple(Seat("A", "S1", on(day)) for day in (1, 2, 3))
    problem = replace(three_evenings(excess=1), locked=locked)
    result = solve(problem)
    assert set(result.seats) == set(locked)
    assert {conflict.code for conflict in result.conflicts} == {"same_wind"}
    assert tuple(level.value for level in result.levels) == tuple(
        map(float, levels_of(problem, result.seats))
    )


def test_a_negative_excess_or_price_is_refused_and_both_are_saved() -> None:
    problem = three_evenings(excess=2)
    assert from_json(problem.to_json()) == problem
    with pytest.raises(InvalidProblem, match="price"):
        replace(problem, excess_price=-1)
    with pytest.raises(InvalidProblem, match="negative"):
        replace(problem, stands=(replace(problem.stands[0], same_wind_excess=-1),))


def softened(problem: RotationProblem, seed: int) -> RotationProblem:
    random = np.random.default_rng([seed, 5])
    return replace(
        problem,
        stands=tuple(
            replace(stand, same_wind_excess=int(random.integers(3)), rest_days=0)
            for stand in problem.stands
        ),
        same_wind_cap=1,
        excess_price=int(random.integers(80)),
    )


@pytest.mark.parametrize("block", range(4))
def test_no_plan_of_a_tiny_problem_with_soft_caps_is_better(block: int) -> None:
    beyond = 0
    for seed in range(24 * block, 24 * block + 24):
        make = tiny_problem if seed % 3 else tiny_problem_with_whole_days
        problem = softened(make(seed), seed)
        result = solve(problem)
        levels = tuple(level.value for level in result.levels)
        assert [v for v in audit(problem, result.seats) if not v.only_bookings] == [], seed
        assert levels == tuple(map(float, levels_of(problem, result.seats))), seed
        if not audit(problem, problem.locked):
            assert levels == tuple(map(float, best_levels(problem))), seed
        assert check(problem, result.seats, explain(problem, result.seats)) == [], seed
        beyond += len(excesses(problem, result.seats))
    assert beyond > 0


@pytest.mark.parametrize("seed", range(15))
def test_plans_by_hand_and_by_one_score_count_the_price(seed: int) -> None:
    problem = replace(softened(tiny_problem(seed), seed), published=None)
    for baseline in BASELINES.values():
        assert [v for v in audit(problem, baseline(problem)) if not v.only_bookings] == []
    result = solve(problem, levels_up_to_columns=0)
    assert result.blended_score == blended_score(problem, result.seats)
    assert result.blended_bound is not None
    assert result.blended_bound >= blended_score(problem, solve(problem).seats)


def many_soft_stands() -> RotationProblem:
    """Six properties, each with a stand like that of ``three_evenings`` and a member of its own."""
    problem = three_evenings(excess=2)
    (stand,), (place,), (member,) = problem.stands, problem.properties, problem.members
    numbers = range(6)
    return replace(
        problem,
        properties=tuple(replace(place, id=f"P{number}") for number in numbers),
        stands=tuple(replace(stand, id=f"S{n}", property_id=f"P{n}") for n in numbers),
        members=tuple(replace(member, id=f"M{n}", properties=(f"P{n}",)) for n in numbers),
        outlooks=tuple(
            replace(one, stand_id=f"S{number}") for number in numbers for one in problem.outlooks
        ),
    )


def test_polishing_exceeds_soft_caps_on_every_property() -> None:
    problem = many_soft_stands()
    seats = candidates(problem)
    model = build(problem, seats)
    search = Search.of(problem, seats, model, 1, float("inf"))
    polish(problem, search, model.blend, good_enough=np.inf, stop=float("inf"))
    plan = tuple(seats.seats[number] for number in search.seats_taken())
    assert len(plan) == 18
    assert {one.stand_id for one in excesses(problem, plan)} == {f"S{n}" for n in range(6)}
