"""Members who bring guests: together in one stand, counted by every rule, best of all plans."""

from collections import Counter, defaultdict
from dataclasses import replace

import pytest

from scheduling.rotation.audit import audit
from scheduling.rotation.explain import check, explain
from scheduling.rotation.greedy import BASELINES
from scheduling.rotation.model.blend import blended_score
from scheduling.rotation.model.solve import solve
from scheduling.rotation.problem import (
    InvalidProblem,
    PlanGuest,
    PlanMember,
    PlanWish,
    RotationProblem,
    Seat,
)
from scheduling.rotation.relaxations import gains
from scheduling.rotation.result import LevelName
from scheduling.rotation.serialised import from_json
from tests.scheduling.rotation.exhaustive import best_levels, levels_of
from tests.scheduling.rotation.known_optima import EVENING, MORNING, on, who_goes_short
from tests.scheduling.rotation.tiny_with_guests import tiny_problem_with_guests


@pytest.mark.parametrize("block", range(10))
def test_no_plan_of_a_tiny_problem_with_guests_is_better(block: int) -> None:
    brought: Counter[int] = Counter()
    for seed in range(15 * block, 15 * block + 15):
        problem = tiny_problem_with_guests(seed)
        result = solve(problem)
        levels = tuple(level.value for level in result.levels)
        assert audit(problem, result.seats) == [], seed
        assert levels == tuple(map(float, levels_of(problem, result.seats))), seed
        assert levels == tuple(map(float, best_levels(problem))), seed
        assert check(problem, result.seats, explain(problem, result.seats)) == [], seed
        brought.update(len(seat.guest_ids) for seat in result.seats)
    assert brought[0]
    assert brought[1] + brought[2]


@pytest.mark.parametrize("seed", range(30))
def test_plans_made_by_hand_and_by_one_score_keep_the_rules_of_guests(seed: int) -> None:
    problem = replace(tiny_problem_with_guests(seed), published=None)
    for baseline in BASELINES.values():
        assert audit(problem, baseline(problem)) == []
    result = solve(problem, levels_up_to_columns=0)
    assert audit(problem, result.seats) == []
    assert result.blended_score == blended_score(problem, result.seats)
    assert result.blended_bound is not None
    assert result.blended_bound >= blended_score(problem, solve(problem).seats)


@pytest.mark.parametrize("seed", range(20))
def test_a_problem_with_guests_is_read_back_as_it_was_saved(seed: int) -> None:
    problem = tiny_problem_with_guests(seed)
    assert from_json(problem.to_json()) == problem


def wide_open(**of_property) -> RotationProblem:
    """Two roomy stands that need no rest, one evening after another, and one member A."""
    problem = who_goes_short().problem
    sessions = tuple(on(day, EVENING) for day in range(4))
    stands = tuple(replace(stand, capacity=3, rest_days=0) for stand in problem.stands)
    outlook = problem.outlooks[0]
    return replace(
        problem,
        stands=tuple(replace(stand, property_id="North") for stand in stands),
        properties=tuple(replace(place, **of_property) for place in problem.properties),
        members=(member("A"),),
        guests=(PlanGuest(id="G"), PlanGuest(id="H")),
        sessions=sessions,
        outlooks=tuple(
            replace(outlook, stand_id=stand.id, session=session)
            for stand in stands
            for session in sessions
        ),
        exclusions=(),
        uses_outside=(),
        locked=(),
        published=None,
        same_wind_cap=None,
    )


def wish(sits: int, *guests: str, days: range = range(4)) -> PlanWish:
    return PlanWish(
        sits_requested=sits,
        available=tuple(on(day, EVENING) for day in days),
        properties=("North",),
        guest_ids=guests,
    )


def member(name: str, *wishes: PlanWish, alone: int = 0) -> PlanMember:
    return PlanMember(
        id=name,
        sits_requested=alone + sum(one.sits_requested for one in wishes),
        available=tuple(on(day, EVENING) for day in range(4)) if alone else (),
        properties=("North",),
        with_guests=wishes,
    )


def companies(seats) -> Counter[tuple[str, ...]]:
    return Counter(seat.guest_ids for seat in seats)


def test_each_wish_gets_its_own_sits_alone_and_with_these_guests() -> None:
    asked = member("A", wish(1, "G"), wish(2, "G", "H"), alone=1)
    problem = replace(wide_open(), members=(asked,))
    assert companies(solve(problem).seats) == {(): 1, ("G",): 1, ("G", "H"): 2}


def test_sits_asked_for_with_a_guest_are_not_given_without_one() -> None:
    asked = member("A", wish(4, "G", days=range(2)), alone=1)
    problem = replace(wide_open(), members=(asked,))
    result = solve(problem)
    assert companies(result.seats) == {(): 1, ("G",): 2}
    (unmet,) = explain(problem, result.seats)
    assert {obstacle.seat.guest_ids for obstacle in unmet.obstacles} == {("G",)}


def test_a_party_too_large_for_any_stand_is_told_so_and_lowers_nobodys_share() -> None:
    problem = wide_open()
    small = tuple(replace(stand, capacity=2) for stand in problem.stands)
    members = (member("A", wish(2, "G", "H")), member("B", alone=1))
    problem = replace(problem, stands=small, members=members)
    result = solve(problem)
    assert {seat.member_id for seat in result.seats} == {"B"}
    assert result.level(LevelName.WORST_SERVED).value > 0
    (unmet,) = explain(problem, result.seats)
    assert {obstacle.code for obstacle in unmet.obstacles} == {"stand_full"}


def test_a_guest_of_two_hosts_sits_in_one_place_a_session() -> None:
    members = (member("A", wish(4, "G")), member("B", wish(4, "G")))
    problem = replace(wide_open(), members=members)
    result = solve(problem)
    assert result.level(LevelName.SITS).value == 4
    assert len({seat.session for seat in result.seats}) == 4
    names = {o.code for unmet in explain(problem, result.seats) for o in unmet.obstacles}
    assert "guest_seated_elsewhere" in names


def test_whoever_is_brought_along_does_not_host_in_the_same_session() -> None:
    members = (member("A", wish(4, "B")), member("B", wish(4, "A"), alone=4))
    guests = (PlanGuest(id="A"), PlanGuest(id="B"))
    problem = replace(wide_open(), members=members, guests=guests)
    result = solve(problem)
    assert result.level(LevelName.SITS).value == 4
    assert audit(problem, result.seats) == []
    twice = (Seat("A", "N1", on(1), ("B",)), Seat("B", "Z1", on(1)))
    assert {violation.code for violation in audit(problem, twice)} == {"guest_seated_elsewhere"}


def test_a_host_brings_guests_to_as_many_sits_as_the_cap_leaves() -> None:
    held = ((2025, "A", 1), (2024, "A", 9), (2025, "Z", 9))
    problem = wide_open(guest_sits_a_host=4, guest_sits_held=held)
    problem = replace(problem, members=(member("A", wish(4, "G", "H"), alone=2),))
    result = solve(problem)
    assert companies(result.seats) == {("G", "H"): 1, (): 2}
    (unmet,) = explain(problem, result.seats)
    refused = [o for o in unmet.obstacles if o.code == "guests_of_host"]
    assert refused
    assert "brought guests to 3 sits" in refused[0].sentence
    assert refused[0].in_the_way == tuple(seat for seat in result.seats if seat.guest_ids)


def test_the_propertys_cap_counts_the_guests_of_all_hosts() -> None:
    problem = wide_open(guest_sits_a_property=3, guest_sits_held=((2025, "Z", 1),))
    members = (member("A", wish(3, "G")), member("B", wish(3, "H")))
    problem = replace(problem, members=members)
    result = solve(problem)
    assert result.level(LevelName.SITS).value == 2
    wishes = explain(problem, result.seats)
    codes: dict[Seat, set[str]] = defaultdict(set)
    for obstacle in (obstacle for unmet in wishes for obstacle in unmet.obstacles):
        codes[obstacle.seat].add(obstacle.code)
    assert all("guests_on_property" in found for found in codes.values())
    assert check(problem, result.seats, wishes) == []


def test_each_seasons_year_has_its_own_cap() -> None:
    # The plan's first evening is 31 October, the others are in November.
    problem = wide_open(guest_sits_a_host=1, year_first_month=11)
    problem = replace(problem, members=(member("A", wish(4, "G")),))
    assert solve(problem).level(LevelName.SITS).value == 2
    in_one_year = wide_open(guest_sits_a_host=1, year_first_month=7)
    in_one_year = replace(in_one_year, members=(member("A", wish(4, "G")),))
    assert solve(in_one_year).level(LevelName.SITS).value == 1


def test_a_young_hunter_is_not_counted_until_the_day_after_the_last() -> None:
    problem = wide_open(guest_sits_a_host=1)
    problem = replace(
        problem,
        members=(member("A", wish(4, "G")),),
        guests=(PlanGuest(id="G", youth_until=on(1).local_date),),
    )
    # The evenings of days 0 and 1, and one of the two after them.
    assert solve(problem).level(LevelName.SITS).value == 3


def test_an_all_day_sit_is_one_sit_of_a_guest() -> None:
    problem = wide_open(guest_sits_a_host=1)
    days = [on(day).local_date for day in (1, 2)]
    sessions = tuple(on(day, kind) for day in (1, 2) for kind in (MORNING, EVENING))
    asked = PlanWish(
        sits_requested=2,
        available=(),
        all_day_on=tuple(days),
        properties=("North",),
        guest_ids=("G",),
    )
    problem = replace(
        problem,
        members=(member("A", asked),),
        sessions=sessions,
        outlooks=tuple(
            replace(problem.outlooks[0], stand_id=stand.id, session=session)
            for stand in problem.stands
            for session in sessions
        ),
    )
    result = solve(problem)
    assert result.level(LevelName.SITS).value == 1
    assert len(result.seats) == 2
    assert audit(problem, result.seats) == []


def test_bookings_beyond_a_cap_are_named_and_nothing_is_added_to_them() -> None:
    problem = wide_open(guest_sits_a_host=1)
    locked = (Seat("A", "N1", on(0), ("G",)), Seat("A", "N1", on(1), ("H",)))
    problem = replace(problem, members=(member("A", wish(4, "G")),), locked=locked)
    result = solve(problem)
    assert {(one.code, one.seats) for one in result.conflicts} == {("guests_of_host", locked)}
    assert result.seats == locked
    assert "more guests than one host may" in result.conflicts[0].sentence


def test_bookings_beyond_a_weeks_limit_are_named_too() -> None:
    problem = wide_open(uses_a_week=1)
    locked = (Seat("A", "N1", on(1)), Seat("A", "N1", on(2)))
    own = replace(member("A", alone=2), sits_a_week=1)
    conflicts = solve(replace(problem, members=(own,), locked=locked)).conflicts
    assert {one.code for one in conflicts} == {"weekly_limit", "pressure_budget"}


@pytest.mark.parametrize(
    ("caps", "code"),
    [
        ({"guest_sits_a_host": 1, "guest_sits_a_property": 3}, "guests_of_host"),
        ({"guest_sits_a_host": 3, "guest_sits_a_property": 1}, "guests_on_property"),
    ],
)
def test_one_sit_more_within_a_cap_of_guests_is_weighed(caps: dict, code: str) -> None:
    problem = replace(wide_open(**caps), members=(member("A", wish(3, "G")),))
    (gain,) = gains(problem, solve(problem).seats).gains
    assert (gain.relaxation.code, gain.more_sits_at_least, gain.more_sits_at_most) == (code, 1, 1)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"members": (member("A", wish(1, "Z")),)}, "unknown guest"),
        ({"members": (member("A", wish(1, "H", "G")),)}, "out of order"),
        ({"members": (member("A", wish(1)),)}, "nobody"),
        ({"members": (member("A", wish(1, "G"), wish(1, "G")),)}, "given twice"),
        (
            {"members": (replace(member("A", wish(2, "G")), sits_requested=1),)},
            "more sits with guests than in all",
        ),
        ({"locked": (Seat("A", "N1", on(1), ("Z",)),)}, "unknown guest"),
        ({"guests": (PlanGuest(id="G"), PlanGuest(id="G"))}, "given twice"),
    ],
)
def test_guests_that_make_no_sense_are_refused_with_the_reason(changes: dict, message: str) -> None:
    with pytest.raises(InvalidProblem, match=message):
        replace(wide_open(), **changes)


def test_the_fingerprint_sees_who_comes_along() -> None:
    one, other = (
        replace(wide_open(), members=(member("A", wish(1, guest)),)) for guest in ("G", "H")
    )
    assert one.fingerprint() != other.fingerprint()
