"""All objections at once, whatever the order of the facts, fast, and alike for the plan."""

import json
import time
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.rules import catalogue
from scheduling.rules.judge import (
    STAND_RULES,
    CandidateFilter,
    candidate_refusals,
    left_standing,
    refusals,
    stand_refusals,
)
from scheduling.rules.rule import AppliesTo
from tests.scheduling.rules.cast import (
    ADA,
    CREEK,
    DAY,
    NOW,
    RIDGE,
    evening,
    good_fit,
    limits,
    morning,
    proposal,
    session_at,
    snapshot,
    use,
)
from tests.scheduling.rules.crowd import crowded

EXPECTED_IN_ORDER = [
    "no_role_here",
    "people_not_in_lease",
    "people_not_in_lease",
    "paper_expired",
    "paper_missing",
    "paper_missing",
    "stand_retired",
    "stand_closed",
    "stand_closed",
    "property_closed",
    "property_closed",
    "weapon_not_in_lease",
    "inspection_expired",
    "setback",
    "arc_crosses_line",
    "setback",
    "danger_arc",
    "gust_above_limit",
    "thunder_expected",
    "fire_danger",
    "flood_expected",
    "ice_reported",
    "weapon_not_permitted",
    "closed_weekday",
    "dark_day",
    "fit_below_floor",
    "worst_place_above_cap",
    "neighbour_in_use",
    "stand_full",
    "property_full",
    "one_stand_a_session",
    "guest_seated_elsewhere",
    "stand_resting",
    "same_wind",
    "pressure_budget",
    "daily_limit",
    "weekly_limit",
    "too_far_ahead",
    "too_late",
    "missed_sits",
    "missing_reports",
]


def test_every_objection_is_listed_at_once_in_the_catalogues_order():
    asked, facts, strict = crowded()
    found = refusals(asked, facts=facts, limits=strict)
    assert [refusal.code for refusal in found] == EXPECTED_IN_ORDER


def test_every_fact_of_a_refusal_is_a_json_value():
    asked, facts, strict = crowded()
    for refusal in refusals(asked, facts=facts, limits=strict):
        assert json.loads(json.dumps(refusal.facts)) == refusal.facts


def test_an_unknown_stand_or_person_is_an_error_and_not_a_refusal():
    for asked in (proposal(stand_id="nowhere"), proposal(member_id="nobody")):
        with pytest.raises(KeyError):
            refusals(asked, facts=snapshot(), limits=limits())


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_the_order_of_the_facts_changes_nothing(data):
    asked, facts, strict = crowded()

    def shuffled(item, *names):
        mixed = {name: tuple(data.draw(st.permutations(getattr(item, name)))) for name in names}
        return replace(item, **mixed)

    stands = tuple(shuffled(stand, "closures", "hazards") for stand in facts.stands)
    places = tuple(shuffled(place, "closures", "seasons") for place in facts.properties)
    people = tuple(
        shuffled(person, "papers", "roles", "claims", "missed_sits", "missing_reports")
        for person in facts.members
    )
    inner = replace(facts, stands=stands, properties=places, members=people)
    outer = shuffled(
        inner, "stands", "members", "sessions", "fits", "uses", "neighbours", "exclusions"
    )
    before = refusals(asked, facts=facts, limits=strict)
    assert refusals(asked, facts=outer, limits=strict) == before


def test_a_plans_candidate_meets_the_filters_and_no_rule_that_counts_sits():
    asked, facts, strict = crowded()
    found = candidate_refusals(asked, facts=facts, limits=strict)
    filters = [
        objection.code
        for rule in catalogue.RULES
        if rule.is_filter and rule.applies_to is not AppliesTo.BOOKING
        for objection in rule.objections
    ]
    assert [refusal.code for refusal in found] == [
        code for code in EXPECTED_IN_ORDER if code in filters
    ]
    everything = refusals(asked, facts=facts, limits=strict)
    assert all(refusal in everything for refusal in found)


def test_the_filter_that_remembers_answers_as_the_one_that_does_not():
    asked, facts, strict = crowded()
    remembering = CandidateFilter(facts=facts, limits_of=lambda stand_id: strict)
    for stand in ("ridge", "creek", "ridge"):
        for weapon in ("rifle", "bow", None):
            for guests in ((), ("gus",)):
                one = replace(asked, stand_id=stand, weapon=weapon, guest_ids=guests)
                plain = candidate_refusals(one, facts=facts, limits=strict)
                assert remembering.refusals(one) == plain


def test_a_stand_is_judged_for_whoever_asks():
    asked, facts, strict = crowded()
    anyone = stand_refusals(
        stand_id="ridge", session=evening(), weapon="rifle", facts=facts, limits=strict
    )
    everything = refusals(asked, facts=facts, limits=strict)
    codes = {objection.code for rule in STAND_RULES for objection in rule.objections}
    assert anyone == tuple(refusal for refusal in everything if refusal.code in codes)


def test_overruling_sets_aside_what_may_be_overruled_and_nothing_of_safety_or_access():
    asked, facts, strict = crowded()
    found = refusals(asked, facts=facts, limits=strict)
    left = left_standing(found, overruled={"stand_resting", "dark_day", "setback"})
    assert [refusal for refusal in found if refusal not in left] == [
        refusal for refusal in found if refusal.code in {"stand_resting", "dark_day"}
    ]
    everything = {refusal.code for refusal in found}
    assert all(not one.overrulable for one in left_standing(found, overruled=everything))
    assert left_standing(found, overruled=()) == found


@pytest.mark.parametrize("guests", [("ada",), ("gus", "gus")])
def test_nobody_is_in_a_party_twice(guests):
    with pytest.raises(ValueError, match="named once"):
        proposal(guest_ids=guests)


def test_a_proposal_keeps_its_sessions_in_order_of_time():
    assert proposal(sessions=(evening(), morning())).sessions == (morning(), evening())


@pytest.mark.parametrize(
    "sessions",
    [(), (evening(), evening()), (morning(), evening(DAY + timedelta(days=1)))],
)
def test_a_sit_is_one_session_or_both_of_one_day(sessions):
    with pytest.raises(ValueError, match="session"):
        proposal(sessions=sessions)


@pytest.mark.parametrize(
    "broken",
    [
        {"now": NOW.replace(tzinfo=None)},
        {"uses": (use("nowhere", evening()),)},
        {"uses": (use("ridge", evening()), use("ridge", evening(), hunters=2))},
        {"stands": (RIDGE, CREEK, RIDGE)},
        {"fits": (good_fit("ridge", evening()), good_fit("ridge", evening(), fit=0.1))},
    ],
)
def test_a_snapshot_that_contradicts_itself_is_an_error(broken):
    with pytest.raises(ValueError, match=r"offset|listed"):
        snapshot(**broken)


def test_uses_around_a_day_are_those_within_so_many_days_of_it_on_either_side():
    days = [DAY + timedelta(days=n) for n in (-3, -2, 0, 2, 3)]
    facts = snapshot(uses=tuple(use("ridge", evening(day)) for day in days))
    around = [found.session.local_date for found in facts.uses_around("ridge", DAY, days=2)]
    assert around == days[1:-1]
    assert facts.uses_around("creek", DAY, days=2) == ()


def test_a_use_that_asks_for_a_longer_rest_than_the_stands_own_is_heard():
    long_ago = use("ridge", evening(DAY - timedelta(days=20)), rest_days=21)
    found = refusals(proposal(), facts=snapshot(uses=(long_ago,)), limits=limits(rest_days=1))
    assert [refusal.code for refusal in found] == ["stand_resting"]
    heard_out = snapshot(uses=(replace(long_ago, rest_days=20),))
    assert refusals(proposal(), facts=heard_out, limits=limits(rest_days=1)) == ()


def test_a_fortnight_at_sixty_stands_is_judged_well_within_a_second():
    keys = [key(DAY + timedelta(days=n)) for n in range(14) for key in (morning, evening)]
    past = [evening(DAY - timedelta(days=n)) for n in range(1, 60)]
    stands = tuple(replace(RIDGE, stand_id=f"s{n}", name=f"Stand {n}") for n in range(60))
    facts = snapshot(
        stands=stands,
        sessions=tuple(session_at(key) for key in keys),
        fits=tuple(good_fit(stand.stand_id, key) for stand in stands for key in keys),
        uses=tuple(use(stand.stand_id, key) for stand in stands for key in past[::4] + keys[::9]),
        members=(ADA,),
    )
    strict = limits(book_ahead_days=30)
    start = time.process_time()
    found = [
        refusals(proposal(stand_id=stand.stand_id, sessions=(key,)), facts=facts, limits=strict)
        for stand in stands
        for key in keys
    ]
    spent_s = time.process_time() - start
    assert len(found) == 60 * 28
    assert any(found)
    assert not all(found)
    assert spent_s < 1.0
