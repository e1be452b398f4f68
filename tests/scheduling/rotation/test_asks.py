"""Several wishes of one member hold each its own number of sits, whatever else they share."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import replace
from itertools import product

import pytest

from scheduling.rotation.asks import all_asks, sets_to_count
from scheduling.rotation.audit import audit
from scheduling.rotation.checks import MOST_ASKS
from scheduling.rotation.explain import check, explain
from scheduling.rotation.greedy import BASELINES
from scheduling.rotation.model.blend import blended_score
from scheduling.rotation.model.solve import solve
from scheduling.rotation.problem import (
    InvalidProblem,
    PlanAsk,
    PlanWish,
    RotationProblem,
    Seat,
)
from scheduling.rotation.serialised import from_json
from tests.scheduling.rotation.exhaustive import best_levels, levels_of
from tests.scheduling.rotation.known_optima import EVENING, on
from tests.scheduling.rotation.test_guests import member, wide_open
from tests.scheduling.rotation.tiny_with_asks import tiny_problem_with_asks


@pytest.mark.parametrize("block", range(10))
def test_no_plan_of_a_tiny_problem_with_several_wishes_is_better(block: int) -> None:
    for seed in range(15 * block, 15 * block + 15):
        problem = tiny_problem_with_asks(seed)
        result = solve(problem)
        levels = tuple(level.value for level in result.levels)
        assert audit(problem, result.seats) == [], seed
        assert levels == tuple(map(float, levels_of(problem, result.seats))), seed
        assert levels == tuple(map(float, best_levels(problem))), seed
        assert check(problem, result.seats, explain(problem, result.seats)) == [], seed


def without_asks(problem: RotationProblem) -> RotationProblem:
    members = tuple(
        replace(one, asks=(), with_guests=tuple(replace(wish, asks=()) for wish in one.with_guests))
        for one in problem.members
    )
    return replace(problem, members=members)


@pytest.mark.parametrize("seed", range(60))
def test_the_audit_finds_fault_exactly_where_no_sit_by_sit_giving_exists(seed: int) -> None:
    problem = tiny_problem_with_asks(seed)
    plain = without_asks(problem)
    for plan in some_plans(plain, seed):
        assert audit(plain, plan) == []
        faults = {violation.code for violation in audit(problem, plan)}
        assert faults == (set() if can_be_given_out(problem, plan) else {"requested_total"})


def some_plans(problem: RotationProblem, seed: int) -> list[tuple[Seat, ...]]:
    return [solve(problem, seed=seed).seats, *(plan(problem) for plan in BASELINES.values())]


def can_be_given_out(problem: RotationProblem, plan: Iterable[Seat]) -> bool:
    """By trying to give each sit to each wish that asks for it, in every way."""
    sits: dict[tuple[str, tuple[str, ...]], list[Seat]] = defaultdict(list)
    for seat in plan:
        if not problem.continues_morning(seat):
            sits[seat.member_id, seat.guest_ids].append(seat)
    for (name, guests), own in sits.items():
        wish = problem.member_by_id[name].wish_with.get(guests)
        if wish is None or not wish.asks:
            continue
        takers = [askers(problem, wish, seat) for seat in own]
        room = [ask.sits_requested for ask in wish.asks]
        # What none asks for counts toward all together, which the number of the wish holds.
        ways = product(*(found for found in takers if found))
        if not any(all(given <= room[ask] for ask, given in Counter(way).items()) for way in ways):
            return False
    return True


def askers(problem: RotationProblem, wish: PlanWish, seat: Seat) -> list[int]:
    day = seat.session.local_date
    booked = {(one.member_id, one.session.local_date) for one in problem.evening_halves}
    whole = day in wish.all_day_on or (seat.member_id, day) in booked
    return [
        number
        for number, ask in enumerate(wish.asks)
        if ask.all_day == whole and seat.stand_id in ask.stands and seat.session in ask.sessions
    ]


@pytest.mark.parametrize("seed", range(30))
def test_plans_made_by_hand_and_by_one_score_keep_each_number(seed: int) -> None:
    problem = replace(tiny_problem_with_asks(seed), published=None)
    for baseline in BASELINES.values():
        assert audit(problem, baseline(problem)) == []
    result = solve(problem, levels_up_to_columns=0)
    assert audit(problem, result.seats) == []
    assert result.blended_bound is not None
    assert result.blended_bound >= blended_score(problem, solve(problem).seats)


@pytest.mark.parametrize("seed", range(20))
def test_a_problem_with_several_wishes_is_read_back_as_it_was_saved(seed: int) -> None:
    problem = tiny_problem_with_asks(seed)
    assert from_json(problem.to_json()) == problem
    plain = without_asks(problem)
    assert (problem.fingerprint() == plain.fingerprint()) is (problem == plain)


def ask(sits: int, *stands: str, days: Iterable[int] = range(4)) -> PlanAsk:
    return PlanAsk(
        sits_requested=sits, stands=stands, sessions=tuple(on(day, EVENING) for day in days)
    )


def asking(*asks: PlanAsk) -> RotationProblem:
    """Two roomy stands, four evenings, and one member who wants what one of these asks for."""
    total = sum(one.sits_requested for one in asks)
    problem = wide_open()
    unwanted = tuple(
        (stand.id, session)
        for stand in problem.stands
        for session in problem.sessions
        if not any(one.asks_for(stand_id=stand.id, session=session, all_day=False) for one in asks)
    )
    own = replace(member("A", alone=total), asks=asks, not_at=unwanted)
    return replace(problem, members=(own,))


def stands_of(problem: RotationProblem) -> list[str]:
    return [stand.id for stand in problem.stands]


def test_what_one_wish_cannot_have_does_not_go_to_the_other() -> None:
    # Together they ask for three sits: two on the first evening alone, one on the second.
    one, other = stands_of(wide_open())
    problem = asking(ask(2, one, days=[0]), ask(1, other, days=[1]))

    result = solve(problem)

    assert {(seat.stand_id, seat.session) for seat in result.seats} == {
        (one, on(0)),
        (other, on(1)),
    }
    (unmet,) = explain(problem, result.seats)
    # The second wish is granted in full and not gone into; nor are the member's other evenings.
    assert {obstacle.seat.stand_id for obstacle in unmet.obstacles} <= {one}


def test_a_sit_for_which_both_ask_is_given_to_the_one_that_can_have_no_other() -> None:
    one, other = stands_of(wide_open())
    problem = asking(ask(1, one, days=[0]), ask(1, one, other, days=[0, 1]))
    assert {seat.session for seat in solve(problem).seats} == {on(0), on(1)}


def test_a_booking_for_which_no_wish_asks_counts_toward_all_together() -> None:
    one, other = stands_of(wide_open())
    problem = asking(ask(1, one, days=[0]), ask(1, one, days=[1]))
    booked = replace(problem, locked=(Seat("A", other, on(3)),))
    result = solve(booked)
    assert len(result.seats) == 2
    assert audit(booked, result.seats) == []


def test_bookings_beyond_a_number_are_kept_and_nothing_is_added_to_them() -> None:
    one, other = stands_of(wide_open())
    asks = (ask(1, one, days=[0, 1, 2]), ask(1, other, days=[3]), ask(1, other, days=[2, 3]))
    locked = (Seat("A", one, on(0)), Seat("A", one, on(1)))
    problem = replace(asking(*asks), locked=locked)

    result = solve(problem)

    assert {conflict.code for conflict in result.conflicts} == {"requested_total"}
    assert [seat.session for seat in result.seats if seat.stand_id == one] == [on(0), on(1)]
    assert [fault.only_bookings for fault in audit(problem, result.seats)] == [True]
    assert len(result.seats) == 3


def test_wishes_that_share_no_sit_are_counted_each_alone() -> None:
    eight = tuple(ask(1, "N1", days=[day]) for day in range(MOST_ASKS))
    wish = PlanWish(sits_requested=8, available=(), properties=(), asks=eight)
    apart = sets_to_count(wish, [1 << number for number in range(8)])
    assert apart == {1 << number: 1 for number in range(8)}
    # A chain of overlapping ones: a sum for each run of neighbours but the whole.
    chain = sets_to_count(wish, [3 << number for number in range(7)])
    assert len(chain) == 7 * 8 // 2 - 1
    assert all_asks(wish) not in chain


@pytest.mark.parametrize(
    ("asks", "message"),
    [
        ((ask(1, "N1"),), "1 ask"),
        ((ask(1, "N1"),) * (MOST_ASKS + 1), "more than 8"),
        ((ask(-1, "N1"), ask(1, "N1")), "negative number"),
        ((ask(1, "N1"), ask(1, "Nowhere")), "unknown stands"),
    ],
)
def test_wishes_that_make_no_sense_are_refused_with_the_reason(asks, message: str) -> None:
    problem = wide_open()
    with pytest.raises(InvalidProblem, match=message):
        replace(problem, members=(replace(problem.members[0], asks=asks),))


def test_the_tiny_problems_have_bookings_and_wishes_whose_numbers_cost_sits() -> None:
    problems = [tiny_problem_with_asks(seed) for seed in range(60)]
    assert sum(bool(problem.locked) for problem in problems) > 10
    assert sum(bool(problem.evening_halves) for problem in problems) > 2
    sits = [
        [solve(one).levels[0].value for one in (problem, without_asks(problem))]
        for problem in problems
    ]
    assert all(held <= free for held, free in sits)
    assert sum(held < free for held, free in sits) > 5
