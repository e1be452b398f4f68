"""Judging very many proposals of one snapshot says exactly what judging each alone says."""

from dataclasses import dataclass, replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.rules import inspection
from scheduling.rules.catalogue import BOOKING_RULES
from scheduling.rules.facts import SitProposal
from scheduling.rules.judge import BookingFilter, refusals
from tests.scheduling.rules.cast import (
    CREEK,
    RIDGE,
    evening,
    good_fit,
    limits,
    morning,
    proposal,
    snapshot,
)
from tests.scheduling.rules.crowd import crowded
from tests.scheduling.rules.worlds import MEMBERS, SEATS, SESSIONS, STANDS, worlds

SHARED = [rule for rule in BOOKING_RULES if rule.one_for_property]


@settings(max_examples=60, deadline=None)
@given(worlds(), st.permutations(SEATS), st.integers(0, 4), st.integers(0, 12))
def test_many_proposals_are_judged_as_each_alone(world, order, other_rest_days, planned):
    """Two stands whose limits differ, so that what is shared must not be shared too widely."""
    house = replace(world.limits.house, rest_days=other_rest_days)
    of_stand = {"ridge": world.limits, "creek": replace(world.limits, house=house)}
    facts = world.facts(list(order[:planned]))
    many = BookingFilter(facts=facts, limits_of=of_stand.__getitem__)

    for member_id, stand_id, session, weapon in product(
        MEMBERS, STANDS, SESSIONS, (None, "bow", "rifle")
    ):
        asked = proposal(member_id=member_id, stand_id=stand_id, sessions=(session,), weapon=weapon)
        alone = refusals(asked, facts=facts, limits=of_stand[stand_id])
        assert many.refusals(asked) == alone
        assert many.refusals(asked) == alone


def test_a_proposal_to_which_nearly_everything_objects_is_judged_as_alone():
    asked, facts, strict = crowded()
    many = BookingFilter(facts=facts, limits_of=lambda stand_id: strict)
    for stand_id, weapon, guests, keys in product(
        ("ridge", "creek"),
        ("rifle", "bow", None),
        ((), ("gus",)),
        ((evening(),), (morning(),), (morning(), evening())),
    ):
        one = replace(asked, stand_id=stand_id, weapon=weapon, guest_ids=guests, sessions=keys)
        alone = refusals(one, facts=facts, limits=strict)
        assert alone
        assert many.refusals(one) == alone


def test_limits_that_are_equal_are_judged_once_and_those_that_differ_apart():
    facts = snapshot(fits=tuple(good_fit(name, evening()) for name in STANDS))
    early, late = limits(book_ahead_days=0), limits(book_ahead_days=60)
    of_stand = {"ridge": early, "creek": late}
    many = BookingFilter(facts=facts, limits_of=of_stand.__getitem__)

    told = {name: [one.code for one in many.refusals(proposal(stand_id=name))] for name in of_stand}

    assert "too_far_ahead" in told["ridge"]
    assert "too_far_ahead" not in told["creek"]


def test_an_unknown_stand_or_person_is_an_error_and_not_a_refusal():
    many = BookingFilter(facts=snapshot(), limits_of=lambda stand_id: limits())
    for asked in (proposal(stand_id="nowhere"), proposal(member_id="nobody")):
        with pytest.raises(KeyError):
            many.refusals(asked)


@pytest.mark.parametrize("rule", SHARED, ids=lambda rule: rule.title)
def test_a_rule_that_is_judged_once_for_a_property_says_the_same_of_two_unlike_stands(rule):
    """Of the crowded snapshot, where most of these rules object."""
    asked, facts, strict = crowded()
    unlike = replace(CREEK, seats=2, is_elevated=not RIDGE.is_elevated, shooting_arc=None)
    stands = tuple(unlike if one.stand_id == "creek" else one for one in facts.stands)
    facts = replace(facts, stands=stands)

    said = [
        list(rule.judge(replace(asked, stand_id=stand_id), facts, strict))
        for stand_id in ("ridge", "creek")
    ]

    assert said[0] == said[1]


@dataclass(frozen=True)
class NothingButItsProperty:
    """A stand that has no more to look at; anything else is an ``AttributeError``."""

    stand_id: str
    property_id: str


@pytest.mark.parametrize("rule", SHARED, ids=lambda rule: rule.title)
def test_a_rule_that_is_judged_once_for_a_property_looks_at_nothing_else_of_a_stand(rule):
    asked, facts, strict = crowded()
    bare = tuple(NothingButItsProperty(one.stand_id, one.property_id) for one in facts.stands)

    said = list(rule.judge(asked, replace(facts, stands=bare), strict))

    assert said == list(rule.judge(asked, facts, strict))


def test_the_others_do_look_at_the_stand():
    """So the test above can fail."""
    asked, facts, strict = crowded()
    bare = tuple(NothingButItsProperty(one.stand_id, one.property_id) for one in facts.stands)
    with pytest.raises(AttributeError):
        list(inspection.RULE.judge(asked, replace(facts, stands=bare), strict))


def test_one_session_alone_is_kept_as_it_is_and_two_in_order_of_time():
    alone = SitProposal(member_id="ada", stand_id="ridge", sessions=(evening(),))
    both = SitProposal(member_id="ada", stand_id="ridge", sessions=(evening(), morning()))

    assert (alone.sessions, alone.guest_ids, alone.people) == ((evening(),), (), ("ada",))
    assert both.sessions == (morning(), evening())
