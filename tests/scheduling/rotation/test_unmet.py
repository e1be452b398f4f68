"""What a part of a plan tells of a wish: its own stands, and no seat or number from elsewhere."""

import json

import pytest

from scheduling.rotation.explain import explain
from scheduling.rotation.model.solve import solve
from scheduling.rotation.unmet import in_order, kept_wish, part_of
from tests.scheduling.rotation.tiny_with_guests import tiny_problem_with_guests

NORTH = {"north": "North Forty"}


def obstacle(code: str, place: str = "north", *, counted_on=(), **fields) -> dict:
    return {
        "stand": "oak",
        "stand_name": "Oak",
        "property": place,
        "local_date": "2026-11-28",
        "kind": "morning",
        "guests": [],
        "code": code,
        "sentence": f"{code} on {place}",
        "seats_in_the_way": 1,
        "counted_on": list(counted_on),
        **fields,
    }


def unmet(*obstacles: dict, asked_on=None) -> dict:
    return {
        "person": "mia",
        "sits_requested": 5,
        "sits": 2,
        "sentence": "You asked for 5 and have 2.",
        "kept_out": ["The paper 'licence' of Mia is missing."],
        "asked_on": {"north": 2, "south": 3} if asked_on is None else asked_on,
        "obstacles": list(obstacles),
    }


def codes(part) -> list[str]:
    return [one["code"] for one in part["obstacles"]]


def test_a_part_counts_what_was_asked_for_and_given_there():
    part = part_of(unmet(obstacle("stand_full")), properties=NORTH, sits_there=1)

    assert (part["sits_requested"], part["sits"], part["kept_out"]) == (2, 1, [])
    assert part["sentence"].startswith("Asked for 2 sits on North Forty and has 1 there. Below")


@pytest.mark.parametrize(("sits", "is_told"), [(1, True), (2, False), (3, False)])
def test_what_is_granted_there_in_full_is_no_part(sits, is_told):
    assert (part_of(unmet(), properties=NORTH, sits_there=sits) is not None) is is_told


def test_whoever_asked_for_nothing_there_is_no_part():
    wish = unmet(obstacle("stand_full"), asked_on={"south": 3})
    assert part_of(wish, properties=NORTH, sits_there=0) is None


def test_stands_elsewhere_are_no_part():
    wish = unmet(obstacle("stand_full"), obstacle("stand_resting", "south"))
    assert codes(part_of(wish, properties=NORTH, sits_there=0)) == ["stand_full"]


@pytest.mark.parametrize("code", ["daily_limit", "one_stand_a_session", "neighbour_in_use"])
def test_what_a_seat_elsewhere_stands_behind_is_told_only_where_both_are_managed(code):
    wish = unmet(obstacle(code, counted_on=["south"]))

    alone = part_of(wish, properties=NORTH, sits_there=0)
    both = part_of(wish, properties={**NORTH, "south": "South Eighty"}, sits_there=0)

    assert (codes(alone), codes(both)) == ([], [code])
    assert "None of what stood in the way is told" in alone["sentence"]
    assert codes(part_of(unmet(obstacle(code)), properties=NORTH, sits_there=0)) == [code]


@pytest.mark.parametrize("code", ["weekly_limit", "requested_total", "guest_seated_elsewhere"])
def test_what_counts_a_members_sits_anywhere_is_no_part(code):
    assert codes(part_of(unmet(obstacle(code)), properties=NORTH, sits_there=0)) == []


def test_obstacles_stand_in_order_of_time_and_then_by_the_stands_name():
    given = [
        obstacle("a", kind="evening"),
        obstacle("b", stand_name="Zelkova", stand="a"),
        obstacle("c"),
        obstacle("d", local_date="2026-11-27", kind="evening"),
    ]
    assert [one["code"] for one in in_order(given)] == ["d", "c", "b", "a"]


@pytest.mark.parametrize("seed", range(60))
def test_a_part_of_a_random_plan_names_no_stand_of_another_property(seed):
    problem = tiny_problem_with_guests(seed)
    seats = solve(problem, time_limit_s=30, seed=1).seats
    south = {stand.id for stand in problem.stands if stand.property_id == "South"}
    for wish in explain(problem, seats):
        kept = kept_wish(problem, wish, kept_out=(), asked_on={"North": 9, "South": 9})
        part = part_of(kept, properties={"North": "North"}, sits_there=0)
        assert part is not None
        assert {one["stand"] for one in part["obstacles"]}.isdisjoint(south)
        told = json.dumps(part["obstacles"])
        assert not any(f"Stand {stand} " in told for stand in south)
        # A seat of theirs elsewhere that day is not to be guessed from a limit.
        away = {
            seat.session.local_date.isoformat()
            for seat in seats
            if seat.member_id == wish.member_id and seat.stand_id in south
        }
        personal = {"daily_limit", "one_stand_a_session"}
        told_days = {one["local_date"] for one in part["obstacles"] if one["code"] in personal}
        assert told_days.isdisjoint(away)
