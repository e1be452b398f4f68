"""Houses, roads, lines and sanctuaries near a stand and in front of it."""

from dataclasses import fields, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.rules.arcs import covers, spans_meet
from scheduling.rules.facts import HazardFacts, HazardKind, ShootingArc
from scheduling.rules.season import weapons_permitted
from scheduling.rules.setbacks import danger_distance_m
from scheduling.rules.settings import HouseRuleSettings
from tests.scheduling.rules.cast import CREEK, DAY, FARM, RIDGE, judged, proposal

NORTH_ARC = ShootingArc(from_bearing_deg=330, to_bearing_deg=30)


def hazard(kind, distance_m, bearings=(90, 90), **changes):
    return HazardFacts(
        kind=HazardKind(kind),
        name="Mill House",
        distance_m=distance_m,
        from_bearing_deg=bearings[0],
        to_bearing_deg=bearings[1],
        **changes,
    )


def found(*hazards, arc=NORTH_ARC, house=None, weapon=None, **changes):
    stands = (replace(RIDGE, hazards=hazards, shooting_arc=arc), CREEK)
    return judged(proposal(weapon=weapon), stands=stands, house=house, **changes)


@pytest.mark.parametrize(
    ("kind", "setback_m"),
    [("house", 150), ("road", 50), ("hazard", 50), ("boundary", 30), ("sanctuary", 50)],
)
def test_a_setback_is_kept_in_every_direction(kind, setback_m):
    assert found(hazard(kind, setback_m)) == {}
    refusal = found(hazard(kind, setback_m - 1))["setback"]
    for part in ("Ridge", "Mill House", kind, f"{setback_m} m", f"{setback_m - 1} m"):
        assert part in refusal.sentence
    assert not refusal.overrulable


def test_every_kind_of_hazard_has_a_setback_of_its_own_setting():
    names = {field.name for field in fields(HouseRuleSettings)}
    assert {f"{kind.value}_setback_m" for kind in HazardKind} <= names


@pytest.mark.parametrize(("bearing", "is_refused"), [(0, True), (29, True), (31, False)])
def test_a_house_in_the_arc_is_endangered_within_the_weapons_distance(bearing, is_refused):
    near, far = hazard("house", 399, (bearing, bearing)), hazard("house", 400, (bearing, bearing))
    assert ("danger_arc" in found(near, weapon="bow")) is is_refused
    assert "danger_arc" not in found(far, weapon="bow")


def test_a_wide_place_is_in_the_arc_when_any_of_its_bearings_is():
    assert "danger_arc" in found(hazard("road", 300, (300, 331)), weapon="bow")
    assert "danger_arc" in found(hazard("road", 300, (200, 100)), weapon="bow")
    assert "danger_arc" not in found(hazard("road", 300, (31, 329)), weapon="bow")


def test_the_distance_within_the_arc_counts_where_it_is_known():
    bent_road = hazard("road", 60, (20, 200), nearest_in_arc_m=900)
    assert found(bent_road, weapon="bow") == {}


def test_a_stand_without_a_recorded_arc_is_taken_to_shoot_all_around():
    refusal = found(hazard("house", 300, (180, 180)), arc=None, weapon="bow")["danger_arc"]
    assert "no shooting arc is recorded" in refusal.sentence
    full = ShootingArc(from_bearing_deg=0, to_bearing_deg=0)
    assert "danger_arc" in found(hazard("house", 300, (180, 180)), arc=full, weapon="bow")


def test_a_rifle_endangers_farther_than_a_bow():
    firearms = replace(FARM.seasons[0], weapons=frozenset({"bow", "rifle"}))
    farm = (replace(FARM, seasons=(firearms,)),)
    house = hazard("house", 2_000, (0, 0))
    assert found(house, weapon="bow", properties=farm) == {}
    refusal = found(house, weapon="rifle", properties=farm)["danger_arc"]
    assert "with a rifle" in refusal.sentence
    assert "3,000 m" in refusal.sentence


def test_without_a_named_weapon_the_farthest_reaching_of_the_season_counts():
    firearms = replace(FARM.seasons[0], weapons=frozenset({"bow", "rifle"}))
    house = hazard("house", 2_000, (0, 0))
    assert found(house) == {}
    assert "danger_arc" in found(house, properties=(replace(FARM, seasons=(firearms,)),))


def test_a_weapon_without_a_distance_of_its_own_counts_as_a_rifle():
    house = HouseRuleSettings()
    assert danger_distance_m("air rifle", house) == house.danger_distance_rifle_m
    assert danger_distance_m("crossbow", house) == house.danger_distance_bow_m
    assert danger_distance_m("muzzleloader", house) == house.danger_distance_shotgun_m


def test_a_backstop_counts_only_where_the_property_says_so_and_never_for_a_house():
    house = hazard("house", 300, (0, 0), has_backstop=True)
    road = hazard("road", 300, (0, 0), has_backstop=True)
    trusting = {"backstop_lifts_danger_arc": True}
    assert "danger_arc" in found(road, weapon="bow")
    assert found(road, weapon="bow", house=trusting) == {}
    assert "danger_arc" in found(house, weapon="bow", house=trusting)


@pytest.mark.parametrize("kind", ["boundary", "sanctuary"])
def test_a_line_in_the_arc_nearer_than_the_longest_shot_is_refused(kind):
    near = {"boundary_setback_m": 0, "sanctuary_setback_m": 0}
    assert found(hazard(kind, 27, (0, 0)), house=near) == {}
    assert set(found(hazard(kind, 26, (0, 0)), house=near)) == {"arc_crosses_line"}
    assert found(hazard(kind, 26, (180, 180)), house=near) == {}


def test_weapons_permitted_join_all_seasons_open_that_day():
    late = replace(FARM.seasons[0], name="late", weapons=frozenset({"shotgun"}))
    both = replace(FARM, seasons=(FARM.seasons[0], late))
    assert weapons_permitted(both, DAY) == {"bow", "crossbow", "shotgun"}


BEARING = st.integers(0, 359)


@given(BEARING, BEARING, BEARING, BEARING, BEARING)
def test_spans_meet_alike_however_the_circle_is_turned(a, b, c, d, turn):
    turned = [(bearing + turn) % 360 for bearing in (a, b, c, d)]
    assert spans_meet((a, b), (c, d)) == spans_meet((c, d), (a, b))
    assert spans_meet((a, b), (c, d)) == spans_meet(tuple(turned[:2]), tuple(turned[2:]))


@given(BEARING, BEARING, BEARING, BEARING)
def test_spans_meet_exactly_when_some_bearing_lies_in_both(a, b, c, d):
    shared = any(covers(a, b, bearing) and covers(c, d, bearing) for bearing in range(360))
    assert spans_meet((a, b), (c, d)) == shared
