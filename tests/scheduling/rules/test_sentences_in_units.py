"""What a rule says is told in each reader's units; the figures behind it stay in SI."""

import re
from dataclasses import replace
from string import Formatter

import pytest

from properties.land.units import UnitSystem
from scheduling.rules import catalogue, judge
from scheduling.rules.catalogue import in_units
from scheduling.rules.facts import HazardFacts, HazardKind
from tests.scheduling.rules.cast import CREEK, RIDGE, evening, good_fit, judged, session_at
from tests.scheduling.rules.crowd import crowded

OBJECTIONS = [found for rule in catalogue.RULES for found in rule.objections]
HOUSE = HazardFacts(
    kind=HazardKind.HOUSE,
    name="Mill House",
    distance_m=100.0,
    from_bearing_deg=90,
    to_bearing_deg=90,
)


def gusts(gust_mps):
    found = judged(fits=(good_fit("ridge", evening(), gust_mps=gust_mps),))
    return found["gust_above_limit"]


def high_water():
    return judged(
        stands=(replace(RIDGE, flood_stage_m=4.0), CREEK),
        sessions=(session_at(evening(), river_stage_m=3.8),),
    )["flood_expected"]


def setback():
    return judged(stands=(replace(RIDGE, hazards=(HOUSE,)), CREEK))["setback"]


@pytest.mark.parametrize(
    ("refusal", "metric", "us"),
    [
        # 1 mph is 0.44704 m/s, 1 ft is 0.3048 m, 1 yd is 0.9144 m, by definition.
        (gusts(12.0), ("12.0 m/s", "11.0 m/s"), ("26.8 mph", "24.6 mph")),
        (high_water(), ("3.8 m", "4.0 m", "0.5 m"), ("12.5 ft", "13.1 ft", "1.6 ft")),
        (setback(), ("100 m", "150 m"), ("109 yd", "164 yd")),
    ],
)
def test_quantities_are_told_in_the_units_of_whoever_reads(refusal, metric, us):
    told = in_units(refusal, UnitSystem.US)
    assert re.findall(r"[\d.]+ (?:m/s|m|mph|ft|yd)\b", refusal.sentence) == list(metric)
    assert re.findall(r"[\d.]+ (?:m/s|m|mph|ft|yd)\b", told.sentence) == list(us)
    assert replace(told, sentence=refusal.sentence) == refusal


def test_a_gust_a_little_above_its_limit_reads_as_above_it():
    told = in_units(gusts(11.1), UnitSystem.US).sentence
    assert "24.8 mph" in told
    assert "24.6 mph" in told


def test_what_names_no_quantity_reads_the_same_to_everybody_and_metric_is_as_judged():
    asked, facts, strict = crowded()
    found = judge.refusals(asked, facts=facts, limits=strict)
    assert len(found) > 20
    for refusal in found:
        measured = bool(catalogue.objection(refusal.code).quantities)
        assert in_units(refusal, UnitSystem.METRIC) == refusal
        assert (in_units(refusal, UnitSystem.US) == refusal) is not measured


@pytest.mark.parametrize("found", OBJECTIONS, ids=lambda found: found.code)
def test_every_fact_in_metres_or_metres_a_second_names_its_quantity(found):
    names = {name for _, name, _, _ in Formatter().parse(found.template) if name}
    assert {name for name in names if name.endswith(("_m", "_mps"))} == found.quantities.keys()
    assert not re.search(r"\} (m|m/s|ft|mph|yd)\b", found.template)
