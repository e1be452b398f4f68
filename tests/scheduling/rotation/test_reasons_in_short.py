"""The same reason at many stands is said once, and every rule of an explanation has its words."""

import pytest

from scheduling.rotation.explain import explain
from scheduling.rotation.explain.summary import WORDS, Hindrance, reasons_of
from scheduling.rotation.model.solve import solve
from scheduling.rules.catalogue import PLANNING_RULES
from tests.scheduling.rotation.known_optima import EVENING, MORNING, on
from tests.scheduling.rotation.tiny_with_guests import tiny_problem_with_guests


def met(code: str, stand: str, day: int, kind=EVENING) -> Hindrance:
    return Hindrance(code, stand.lower(), stand, on(day, kind))


def sentences(*found: Hindrance) -> list[str]:
    return [reason.sentence for reason in reasons_of(found)]


def test_one_reason_at_many_stands_is_one_sentence_with_their_number():
    found = [met("stand_resting", stand, day) for stand in ("Oak", "Elm", "Ash") for day in (1, 2)]

    (reason,) = reasons_of(found)

    assert (reason.code, reason.stands, reason.times) == ("stand_resting", 3, 6)
    assert reason.sentence == "At 3 stands, 6 times: the stand rests between two sits."


def test_one_or_two_stands_are_named_in_order():
    assert sentences(met("stand_full", "Oak", 1)) == [
        "At Oak: somebody else sits there, and the places do not suffice."
    ]
    two = [met("neighbour_in_use", "Oak", 1), met("neighbour_in_use", "Elm", 1)]
    assert sentences(*two) == ["At Elm and Oak: a neighbouring stand is in use."]


def test_the_number_of_times_is_left_out_where_each_stand_was_met_once():
    found = [met("stand_full", stand, 1) for stand in ("Oak", "Elm", "Ash")]
    assert sentences(*found)[0].startswith("At 3 stands: ")
    again = [*found, met("stand_full", "Oak", 1, MORNING)]
    assert sentences(*again)[0].startswith("At 3 stands, 4 times: ")


def test_what_is_met_twice_at_one_stand_in_one_session_counts_once():
    # With two sets of guests the same stand is asked about twice.
    (reason,) = reasons_of([met("stand_full", "Oak", 1)] * 2)
    assert (reason.stands, reason.times) == (1, 1)


def test_two_stands_of_one_name_are_two():
    same = [Hindrance("stand_full", stand_id, "Ladder", on(1)) for stand_id in ("a", "b")]
    (reason,) = reasons_of(same)
    assert reason.stands == 2
    assert reason.sentence.startswith("At Ladder and Ladder: ")


def test_what_could_still_be_booked_stands_first_and_then_the_most_frequent():
    found = [
        met("daily_limit", "Oak", 1),
        met("stand_resting", "Oak", 1),
        met("stand_resting", "Oak", 2),
        met("still_open", "Elm", 3),
    ]
    codes = [reason.code for reason in reasons_of(found)]
    assert codes == ["still_open", "stand_resting", "daily_limit"]


def test_nothing_in_the_way_is_no_reason():
    assert reasons_of([]) == ()


def test_every_rule_of_a_plan_that_weighs_seats_has_its_words():
    weighing = {
        objection.code
        for rule in PLANNING_RULES
        if not rule.is_filter
        for objection in rule.objections
    }
    assert weighing <= WORDS.keys()


@pytest.mark.parametrize("seed", range(40))
def test_whatever_an_explanation_names_is_said_in_short(seed):
    problem = tiny_problem_with_guests(seed)
    result = solve(problem, time_limit_s=30, seed=1)
    for wish in explain(problem, result.seats):
        found = [
            Hindrance(one.code, one.seat.stand_id, one.seat.stand_id, one.seat.session)
            for one in wish.obstacles
        ]
        reasons = reasons_of(found)
        assert {reason.code for reason in reasons} == {one.code for one in wish.obstacles}
        for reason in reasons:
            own = {(one.stand_id, one.session) for one in found if one.code == reason.code}
            assert reason.times == len(own)
