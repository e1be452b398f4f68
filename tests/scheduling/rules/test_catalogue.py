"""The catalogue documents every code once, and tells the truth about each."""

import re
from dataclasses import fields
from string import Formatter

import pytest

from scheduling.rules import catalogue, judge
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt
from scheduling.rules.settings import GROUP, HouseRuleSettings
from tests.scheduling.rules.cast import limits, proposal, snapshot
from tests.scheduling.rules.crowd import crowded

OBJECTIONS = [found for rule in catalogue.RULES for found in rule.objections]
NEVER_OVERRULED = {
    "no_role_here",
    "people_not_in_lease",
    "outside_lease",
    "weapon_not_in_lease",
    "closed_weekday",
    "youth_only_day",
    "youth_only_weapon",
    "youth_alone",
    "youths_for_adults",
    "supervisor_paper_missing",
    "paper_missing",
    "paper_expired",
    "paper_not_yet_valid",
    "stand_retired",
    "stand_closed",
    "property_closed",
    "part_closed",
    "no_session",
    "stand_not_inspected",
    "inspection_failed",
    "inspection_expired",
    "setback",
    "danger_arc",
    "arc_crosses_line",
    "gust_above_limit",
    "thunder_expected",
    "fire_danger",
    "flood_expected",
    "ice_reported",
    "out_of_season",
    "weapon_not_permitted",
    "neighbour_in_use",
    "stand_full",
    "property_full",
    "one_stand_a_session",
    "guest_seated_elsewhere",
    "session_over",
}


def crowded_refusals() -> tuple[Refusal, ...]:
    asked, facts, strict = crowded()
    return judge.refusals(asked, facts=facts, limits=strict)


def test_every_code_is_documented_once():
    codes = [found.code for found in OBJECTIONS]
    assert len(codes) == len(set(codes))
    assert all(re.fullmatch(r"[a-z]+(_[a-z]+)*", code) for code in codes)
    assert all(catalogue.objection(found.code) is found for found in OBJECTIONS)


def test_safety_and_access_are_never_overruled_and_the_rest_may_be():
    never = {found.code for found in OBJECTIONS if not found.overrulable}
    assert never == NEVER_OVERRULED


@pytest.mark.parametrize("found", OBJECTIONS, ids=lambda found: found.code)
def test_no_sentence_calls_anything_legal_or_safe(found):
    for text in (found.title, found.template):
        assert not re.search(r"\b(il)?legal|\b(un)?saf(e|ety)\b|\blaw", text, re.IGNORECASE)


def test_no_sentence_in_use_calls_anything_legal_or_safe():
    for refusal in crowded_refusals():
        assert not re.search(r"\b(il)?legal|\b(un)?saf(e|ety)\b", refusal.sentence, re.IGNORECASE)


def test_what_speaks_of_seasons_defers_to_the_states_regulations():
    for code in (
        "out_of_season",
        "weapon_not_permitted",
        "closed_weekday",
        "youth_only_day",
        "youth_only_weapon",
    ):
        template = catalogue.objection(code).template
        assert "settings of {property}" in template
        assert template.endswith("check your state's regulations.")


def test_every_named_setting_exists_and_every_house_setting_is_named():
    named = {name for rule in catalogue.RULES for name in rule.settings}
    house = {f"{GROUP}/{field.name}" for field in fields(HouseRuleSettings)}
    assert house <= named
    assert named - house == {"wind/fit_floor", "wind/worst_place_cap"}


def test_the_rules_for_booking_alone_and_for_planning_alone_are_these():
    by_scope = {
        scope: {rule.title for rule in catalogue.RULES if rule.applies_to is scope}
        for scope in AppliesTo
    }
    assert by_scope[AppliesTo.BOOKING] == {
        "The booking window is open",
        "Nothing is owed",
    }
    assert by_scope[AppliesTo.PLANNING] == {"As many sits as asked for"}
    assert all(rule.judge is not None for rule in catalogue.BOOKING_RULES)


def test_no_rule_about_people_has_a_setting_of_its_own_in_the_plan():
    # The candidate filter keeps what it found for all stands of a property.
    people = [rule for rule in catalogue.CANDIDATE_RULES if rule.looks_at is LooksAt.MEMBER]
    assert len(people) >= 4
    assert all(rule.settings == () for rule in people)


def test_every_refusal_is_as_documented():
    for refusal in crowded_refusals():
        documented = catalogue.objection(refusal.code)
        assert refusal.overrulable == documented.overrulable
        assert re.fullmatch(_pattern(documented.template), refusal.sentence), refusal.sentence


def test_a_sentence_holds_its_figures_and_names():
    own = [
        found for found in crowded_refusals() if "person" in found.facts or "stand" in found.facts
    ]
    assert len(own) > 12
    for refusal in own:
        for name in ("person", "stand", "property"):
            if (
                name in refusal.facts
                and f"{{{name}}}" in catalogue.objection(refusal.code).template
            ):
                assert refusal.facts[name] in refusal.sentence


def test_settings_resolve_within_their_bounds():
    assert HouseRuleSettings() == limits().house
    for field in fields(HouseRuleSettings):
        assert field.metadata["description"]
        value = getattr(HouseRuleSettings(), field.name)
        if isinstance(value, int | float) and not isinstance(value, bool):
            assert field.metadata["minimum"] <= value <= field.metadata["maximum"]


def test_an_empty_catalogue_would_not_pass_for_a_lenient_one():
    assert judge.refusals(proposal(), facts=snapshot(), limits=limits()) == ()
    assert len(crowded_refusals()) > 20


def _pattern(template: str) -> str:
    parts = Formatter().parse(template)
    return "".join(re.escape(text) + (".+" if name is not None else "") for text, name, *_ in parts)
