"""Every house rule in the order in which objections are listed; also their documentation.

First what no manager can set aside (access, then the ground and the stand), then the
seasons and the wind, then other sits, then the member's own account.
"""

from dataclasses import replace
from datetime import date

from properties.land.units import UnitSystem
from scheduling.rules import (
    booking_window,
    closed_weekdays,
    dark_days,
    dues,
    fit_floor,
    guest_caps,
    inspection,
    lease_people,
    lease_terms,
    obligations,
    own_claim,
    papers,
    planning,
    pressure,
    role,
    season,
    setbacks,
    stand_open,
    sun,
    supervision,
    weather_limits,
    weekly_limit,
    work_days,
    youth_days,
)
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, Objection, Rule

RULES: tuple[Rule, ...] = (
    role.RULE,
    lease_people.RULE,
    papers.RULE,
    supervision.RULE,
    stand_open.RULE,
    lease_terms.RULE,
    sun.RULE,
    inspection.RULE,
    setbacks.RULE,
    weather_limits.RULE,
    season.RULE,
    youth_days.RULE,
    closed_weekdays.RULE,
    dark_days.RULE,
    fit_floor.RULE,
    planning.EXCLUSION,
    planning.CAPACITY,
    planning.PROPERTY_CAP,
    own_claim.RULE,
    guest_caps.RULE,
    planning.REST,
    planning.SAME_WIND,
    pressure.RULE,
    planning.DAY_LIMIT,
    weekly_limit.RULE,
    planning.REQUESTED_TOTAL,
    booking_window.RULE,
    obligations.RULE,
    dues.RULE,
    work_days.RULE,
)

BOOKING_RULES = tuple(rule for rule in RULES if rule.applies_to is not AppliesTo.PLANNING)
PLANNING_RULES = tuple(rule for rule in RULES if rule.applies_to is not AppliesTo.BOOKING)
CANDIDATE_RULES = tuple(rule for rule in PLANNING_RULES if rule.is_filter)
"""The rules that a candidate seat of a plan must pass on its own."""


def objection(code: str) -> Objection:
    """The documented objection with this code. Raises ``KeyError`` for an unknown code."""
    return _BY_CODE[code]


def in_units(refusal: Refusal, system: UnitSystem) -> Refusal:
    """The refusal with its quantities told in a reader's units; its facts stay in SI.

    Judges tell metric ones, so that what was judged once can be told to each reader.
    """
    if system is UnitSystem.METRIC:
        return refusal
    documented = _BY_CODE.get(refusal.code)
    if documented is None or not documented.quantities:
        return refusal
    facts = dict(refusal.facts)
    if "local_date" in facts:
        facts["local_date"] = date.fromisoformat(facts["local_date"])
    return replace(refusal, sentence=documented.sentence(facts, system))


_BY_CODE = {found.code: found for rule in RULES for found in rule.objections}
