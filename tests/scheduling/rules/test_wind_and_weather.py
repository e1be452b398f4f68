"""Fit, gusts, thunder, fire danger and water, each at its edge."""

from dataclasses import replace

import pytest

from tests.scheduling.rules.cast import (
    CREEK,
    RIDGE,
    evening,
    good_fit,
    judged,
    morning,
    proposal,
    session_at,
)


def with_fit(**changes):
    return {"fits": (good_fit("ridge", evening(), **changes),)}


@pytest.mark.parametrize(("fit", "is_refused"), [(0.5, False), (0.49, True)])
def test_a_fit_at_the_floor_is_enough_and_below_it_is_not(fit, is_refused):
    assert ("fit_below_floor" in judged(**with_fit(fit=fit))) is is_refused


@pytest.mark.parametrize(("worst", "is_refused"), [(0.6, False), (0.61, True)])
def test_a_worst_place_at_the_cap_passes_and_above_it_does_not(worst, is_refused):
    assert ("worst_place_above_cap" in judged(**with_fit(worst_place=worst))) is is_refused


def test_an_unfit_stand_names_the_feature():
    found = judged(**with_fit(fit=0.21, worst_place=0.83))
    assert "fit of 0.21" in found["fit_below_floor"].sentence
    assert "floor of 0.50" in found["fit_below_floor"].sentence
    assert "North Bedding" in found["fit_below_floor"].sentence
    worst = found["worst_place_above_cap"].sentence
    for part in ("North Bedding", "Ridge", "0.83", "0.60"):
        assert part in worst


def test_a_spoiled_place_is_not_said_to_be_smelled_alone():
    """Sight, sound and a trail walked count in the worst place as scent does."""
    refusal = judged(**with_fit(worst_place=0.83))["worst_place_above_cap"]
    for sense in ("smell", "see or hear", "trail"):
        assert sense in refusal.sentence
    assert "hour" not in refusal.facts


def test_the_fits_own_reason_is_told_where_there_is_one():
    refusal = judged(**with_fit(fit=0.1, reason="the route crosses the plot at dark"))
    assert refusal["fit_below_floor"].sentence.endswith("the route crosses the plot at dark.")


def test_a_high_fit_does_not_launder_a_spoiled_place():
    assert set(judged(**with_fit(fit=0.99, worst_place=0.9))) == {"worst_place_above_cap"}


@pytest.mark.parametrize("fits", [(), (good_fit("ridge", evening(), fit=0.0, is_unknown=True),)])
def test_an_unknown_wind_is_an_answer_of_its_own(fits):
    assert set(judged(fits=fits)) == {"wind_unknown"}
    assert judged(fits=fits, house={"sit_without_forecast": True}) == {}


def test_an_unknown_wind_gives_the_reason_where_there_is_one():
    told = good_fit("ridge", evening(), is_unknown=True, reason="The forecast is 9 hours old")
    sentence = judged(fits=(told,))["wind_unknown"].sentence
    assert sentence.endswith(" is not known: the forecast is 9 hours old.")
    assert "no forecast reaches it" in judged(fits=())["wind_unknown"].sentence


def test_an_all_day_sit_is_judged_in_both_its_sessions():
    fits = (good_fit("ridge", morning(), fit=0.2), good_fit("ridge", evening()))
    assert judged(fits=fits) == {}
    refusal = judged(proposal(sessions=(morning(), evening())), fits=fits)["fit_below_floor"]
    assert refusal.facts["session"] == "morning"


@pytest.mark.parametrize(
    ("gust_mps", "is_elevated", "is_refused"),
    [(11.0, True, False), (11.1, True, True), (30.0, False, False), (None, True, False)],
)
def test_gusts_close_elevated_stands_and_leave_blinds_open(gust_mps, is_elevated, is_refused):
    stands = (replace(RIDGE, is_elevated=is_elevated), CREEK)
    found = judged(stands=stands, **with_fit(gust_mps=gust_mps))
    assert ("gust_above_limit" in found) is is_refused
    if is_refused:
        assert "11.1 m/s" in found["gust_above_limit"].sentence
        assert not found["gust_above_limit"].overrulable


@pytest.mark.parametrize(
    ("weather", "code"),
    [
        ({"thunder_chance": 0.3}, "thunder_expected"),
        ({"thunder_chance": 0.29}, None),
        ({"fire_danger": 5}, "fire_danger"),
        ({"fire_danger": 4}, None),
        ({"river_stage_m": 3.5}, "flood_expected"),
        ({"river_stage_m": 3.49}, None),
        ({"has_ice": True}, "ice_reported"),
        ({}, None),
    ],
)
def test_thunder_fire_water_and_ice_close_stands_from_their_limits(weather, code):
    stands = (replace(RIDGE, flood_stage_m=4.0), CREEK)
    found = judged(stands=stands, sessions=(session_at(evening(), **weather),))
    assert set(found) == ({code} if code else set())
    if code:
        assert "Ridge" in found[code].sentence


def test_high_water_does_not_concern_a_stand_that_does_not_flood():
    assert judged(sessions=(session_at(evening(), river_stage_m=9.0),)) == {}


def test_ice_does_not_concern_a_ground_blind_but_a_ladder():
    iced = (session_at(evening(), has_ice=True),)
    blinds = (replace(RIDGE, is_elevated=False), CREEK)
    assert judged(stands=blinds, sessions=iced) == {}
    assert set(judged(sessions=iced)) == {"ice_reported"}
