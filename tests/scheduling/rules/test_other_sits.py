"""Rules that weigh a proposal against other sits, as booking meets them."""

from dataclasses import replace
from datetime import timedelta

import pytest

from properties.sessions.kinds import SessionKey
from scheduling.rules.facts import ClaimFacts, Exclusion
from scheduling.rules.judge import refusals
from tests.scheduling.rules.cast import (
    ADA,
    CREEK,
    DAY,
    GUEST,
    RIDGE,
    evening,
    judged,
    limits,
    morning,
    proposal,
    snapshot,
    use,
)

MONDAY = DAY - timedelta(days=5)
SUNDAY = DAY + timedelta(days=1)
ALL_DAY = (morning(), evening())
NO_REST = {"rest_days": 0, "same_wind_cap": 100, "sits_a_day": 2}


def claim(key: SessionKey, sit_id: str, stand="creek") -> ClaimFacts:
    return ClaimFacts(
        sit_id=sit_id, stand_id=stand, stand_name="Creek", property_id="farm", session=key
    )


def with_claims(*claims):
    return {"members": (replace(ADA, claims=claims), GUEST)}


def test_a_member_has_one_stand_a_session():
    found = judged(**with_claims(claim(evening(), "one")), house=NO_REST)
    assert set(found) == {"one_stand_a_session"}
    assert not found["one_stand_a_session"].overrulable
    assert judged(**with_claims(claim(morning(), "one")), house=NO_REST) == {}


def test_a_guest_has_one_stand_a_session_too():
    guest = replace(GUEST, claims=(claim(evening(), "one"),))
    found = judged(proposal(guest_ids=("gus",)), members=(ADA, guest), house=NO_REST)
    assert set(found) == {"guest_seated_elsewhere"}
    assert "Gus Rook already has a seat in Creek" in found["guest_seated_elsewhere"].sentence


def test_all_day_asks_for_both_sessions_and_meets_a_seat_in_either():
    for key in ALL_DAY:
        found = judged(proposal(sessions=ALL_DAY), **with_claims(claim(key, "one")), house=NO_REST)
        assert set(found) == {"one_stand_a_session"}


@pytest.mark.parametrize(("sits_a_day", "is_refused"), [(1, True), (2, False)])
def test_a_second_sit_of_the_day_meets_the_daily_limit(sits_a_day, is_refused):
    found = judged(
        **with_claims(claim(morning(), "one")), house={**NO_REST, "sits_a_day": sits_a_day}
    )
    assert ("daily_limit" in found) is is_refused


def test_the_week_runs_from_monday_to_sunday():
    first = claim(evening(MONDAY), "one")
    last = claim(evening(SUNDAY), "two")
    before = claim(evening(MONDAY - timedelta(days=1)), "three")
    after = claim(evening(SUNDAY + timedelta(days=1)), "four")
    two_a_week = {**NO_REST, "weekly_sits": 2}
    assert judged(**with_claims(first, before, after), house=two_a_week) == {}
    refusal = judged(**with_claims(first, last), house=two_a_week)["weekly_limit"]
    for part in ("Ada Long", "2 of 2", "Mon 09 Nov 2026"):
        assert part in refusal.sentence


def test_an_all_day_sit_counts_once_in_the_week():
    all_day = (claim(morning(MONDAY), "one"), claim(evening(MONDAY), "one"))
    two_sits = (claim(morning(MONDAY), "one"), claim(evening(MONDAY), "two"))
    two_a_week = {**NO_REST, "weekly_sits": 2}
    assert judged(**with_claims(*all_day), house=two_a_week) == {}
    assert "weekly_limit" in judged(**with_claims(*two_sits), house=two_a_week)


def test_the_pressure_budget_counts_uses_of_the_whole_property_in_the_week():
    uses = (use("creek", evening(MONDAY)), use("ridge", evening(SUNDAY)))
    outside = (use("creek", evening(MONDAY - timedelta(days=1))),)
    three, two = {**NO_REST, "uses_a_week": 3}, {**NO_REST, "uses_a_week": 2}
    assert judged(uses=uses + outside, house=three) == {}
    refusal = judged(uses=uses + outside, house=two)["pressure_budget"]
    assert "Oak Farm bears 2 uses" in refusal.sentence
    assert "2 are counted in the week of Mon 09 Nov 2026" in refusal.sentence


def test_no_budget_is_set_by_zero():
    uses = tuple(use("creek", evening(MONDAY + timedelta(days=n))) for n in range(5))
    assert judged(uses=uses, house={**NO_REST, "uses_a_week": 0}) == {}


def test_joining_a_use_or_continuing_a_morning_spends_no_budget():
    one = {**NO_REST, "uses_a_week": 1}
    assert judged(uses=(use("ridge", evening()),), house=one) == {}
    all_day = (use("creek", morning()), use("creek", evening(), continues_morning=True))
    assert "pressure_budget" not in judged(uses=all_day, house={**NO_REST, "uses_a_week": 2})
    assert "pressure_budget" in judged(uses=all_day, house=one)


def test_a_stand_rests_between_uses_and_all_day_is_one_use():
    yesterday = (use("ridge", evening(DAY - timedelta(days=1))),)
    assert set(judged(uses=yesterday, house={"rest_days": 2})) == {"stand_resting"}
    assert judged(uses=yesterday, house={"rest_days": 1}) == {}
    assert judged(proposal(sessions=ALL_DAY), uses=yesterday, house={"rest_days": 1}) == {}


def test_the_same_wind_is_counted_in_its_window():
    past = tuple(use("ridge", evening(DAY - timedelta(days=days))) for days in (3, 5))
    house = {"rest_days": 1, "same_wind_cap": 2, "same_wind_window_days": 6}
    assert set(judged(uses=past, house=house)) == {"same_wind"}
    assert judged(uses=past, house={**house, "same_wind_window_days": 5}) == {}


def test_a_full_stand_and_a_full_property_are_different_answers():
    there = (use("ridge", evening(), hunters=2),)
    assert set(judged(uses=there)) == {"stand_full"}
    elsewhere = (use("creek", evening(), hunters=2),)
    assert set(judged(uses=elsewhere, house={"hunters_a_session": 2})) == {"property_full"}
    assert judged(uses=elsewhere, house={"hunters_a_session": 3}) == {}


def test_guests_take_seats():
    with_gus = proposal(guest_ids=("gus",))
    assert judged(with_gus) == {}
    one_there = (use("ridge", evening(), hunters=1),)
    assert judged(uses=one_there) == {}
    assert set(judged(with_gus, uses=one_there)) == {"stand_full"}


@pytest.mark.parametrize("ends", [("ridge", "creek"), ("creek", "ridge")])
def test_a_neighbour_that_excludes_the_stand_is_named_whichever_way_it_was_written(ends):
    pair = Exclusion(stand_id=ends[0], other_stand_id=ends[1])
    there = (use("creek", evening()),)
    refusal = judged(uses=there, exclusions=(pair,))["neighbour_in_use"]
    assert "Creek" in refusal.sentence
    assert not refusal.overrulable
    assert judged(uses=(use("creek", morning()),), exclusions=(pair,)) == {}


def test_an_exclusion_of_one_session_leaves_the_others_alone():
    pair = Exclusion(stand_id="ridge", other_stand_id="creek", session=morning())
    there = (use("creek", evening()),)
    assert judged(uses=there, exclusions=(pair,)) == {}


def test_every_neighbour_in_the_way_is_listed():
    oak = replace(CREEK, stand_id="oak", name="Lone Oak")
    pairs = tuple(Exclusion(stand_id="ridge", other_stand_id=other) for other in ("creek", "oak"))
    facts = snapshot(
        stands=(RIDGE, CREEK, oak),
        exclusions=pairs,
        uses=(use("creek", evening()), use("oak", evening())),
    )
    found = refusals(proposal(), facts=facts, limits=limits())
    assert [refusal.facts["other_stand"] for refusal in found] == ["Creek", "Lone Oak"]
