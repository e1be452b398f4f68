"""What a fit answers where its input is bad: never NaN, never a silent guess."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.land.settings import InvalidSetting, resolve
from properties.sessions.kinds import SessionKind
from properties.wind.answer import Verdict
from properties.wind.fit import stand_fit, stand_fits
from properties.wind.places import Behaviour, Receptor, StandPlace
from properties.wind.settings import WindSettings
from properties.wind.words import BEYOND_FORECAST, main_reason
from tests.properties.wind.fit_cases import (
    ORIGIN,
    SETTINGS,
    air,
    area,
    at,
    blind,
    corridor,
    tree_stand,
)

BEDDING = area("bedding", at(90, 200))


def judged(hours, stand=None, receptors=(BEDDING,)):
    return stand_fit(
        stand=stand or blind(),
        receptors=list(receptors),
        air=hours,
        session_kind=SessionKind.EVENING,
        settings=SETTINGS,
    )


def test_a_missing_hour_leaves_the_fit_unknown_and_says_which():
    answer = judged(air(0, [4.0, np.nan, 4.0]))
    assert answer.fit is None
    assert answer.worst_place is None
    assert answer.verdict is Verdict.UNKNOWN
    assert "hour 2 of 3" in answer.unknown[0]
    assert answer.parts["hunt"].fit is None
    assert answer.parts["approach"].fit == 1.0
    assert answer.hours[1].fit is None
    assert answer.hours[0].fit > 0.9
    assert sum(answer.sector_per_mille) == 1000


def test_a_forecast_that_stops_in_mid_session_can_still_be_unfit():
    whole = judged(air(270, 4.0))
    answer = judged(air(270, [4.0, np.nan, np.nan]))
    assert answer.fit is None
    assert answer.verdict is Verdict.UNFIT
    assert whole.fit <= answer.fit_at_most
    assert answer.parts["exit"].fit is None


def test_several_missing_hours_are_named_together():
    (told,) = judged(air(270, [4.0, np.nan, np.nan])).unknown
    assert told.startswith("Wind or sun is missing or impossible in hours 2 and 3 of 3, and ")


def test_the_reason_of_what_is_not_known_tells_a_forecast_too_short_from_one_with_gaps():
    fit = judged(air(270, 4.0, known=False))
    hours = [datetime(2025, 11, 3, hour, tzinfo=UTC) for hour in (20, 21, 22)]

    assert main_reason(fit, hours, forecast_until=hours[0] - timedelta(hours=1)) == BEYOND_FORECAST
    for until in (hours[0], None):
        told = main_reason(fit, hours, forecast_until=until)
        assert told == "Wind or sun is missing or impossible in every hour."


def test_where_nothing_is_mapped_that_is_said_too_beyond_the_forecast():
    fit = judged(air(270, 4.0, known=False), receptors=[])
    hours = [datetime(2025, 11, 3, hour, tzinfo=UTC) for hour in (20, 21, 22)]

    told = main_reason(fit, hours, forecast_until=hours[0] - timedelta(hours=1))
    assert told.startswith("No place that holds deer is mapped")


def test_nothing_known_is_unknown_with_no_sectors():
    answer = judged(air(270, 4.0, known=False))
    assert answer.verdict is Verdict.UNKNOWN
    assert answer.sector_per_mille == (0,) * 8
    assert answer.fit_at_most == pytest.approx(1.0)
    assert answer.reasons == ()


@pytest.mark.parametrize("speed", [468.5, -1.0, np.inf])
def test_an_impossible_speed_counts_as_missing(speed):
    # 1,048 mph (468.5 m/s) stands in a published data set of real observations.
    answer = judged(air(0, [4.0, speed, 4.0]))
    assert answer.fit is None
    assert "hour 2 of 3" in answer.unknown[0]


def test_variable_wind_is_spread_over_every_direction():
    variable = judged(air([np.nan] * 3, 2.0))
    assert variable.fit is not None
    turned = judged(air([np.nan] * 3, 2.0), receptors=[area("bedding", at(200, 200))])
    assert variable.fit == pytest.approx(turned.fit, abs=0.01)
    assert variable.hours[0].air_from_deg is None
    assert variable.sector_per_mille == (125,) * 8


def test_calm_is_judged_at_the_floor_speed_without_a_direction():
    answer = judged(air(270, 0.0))
    assert answer.hours[0].speed_mps == SETTINGS.calm_speed_mps
    assert answer.hours[0].air_from_deg is None
    assert answer.sector_per_mille == (125,) * 8


def test_deer_at_the_hunters_feet_smell_him_on_any_wind():
    for wind in (0, 90, 200):
        for stand in (blind(), tree_stand()):
            answer = judged(air(wind, 6.0), stand, [area("bedding", ORIGIN, side_m=2.0)])
            assert answer.worst_place > 0.99
            assert answer.verdict is Verdict.UNFIT


def test_deer_on_the_route_smell_the_walker_on_any_wind():
    route = np.array([[-100.0, 0.0], [0.0, 0.0]])
    on_route = area("bedding", np.array([-50.0, 0.0]), side_m=2.0)
    answer = judged(air(0, 6.0), blind(approach=route), [on_route])
    assert answer.worst_places[0, 0] > 0.99


def test_a_stand_without_features_is_not_judged():
    answer = judged(air(270), receptors=[])
    assert answer.fit is None
    assert answer.verdict is Verdict.UNKNOWN
    assert "No place that holds deer is mapped" in answer.unknown[0]
    assert sum(answer.sector_per_mille) == 1000
    json.dumps(answer.as_dict(), allow_nan=False)


def test_a_session_without_time_on_the_stand_is_not_judged():
    answer = judged(air(270, steps=[0.0, 0.0, 0.0]))
    assert answer.fit is None
    assert "no time on the stand" in answer.unknown[0]


def test_an_hour_that_is_only_walked_counts_for_the_walk_alone():
    straight = judged(air([0, 0, 270], steps=[6.0, 6.0, 0.0]))
    assert straight.verdict is Verdict.FIT
    assert straight.hours[2].fit is None


def test_part_of_an_hour_exposes_less_than_the_whole():
    fits = [judged(air(300, steps=[steps, 0.0, 0.0])).fit for steps in (1.5, 3.0, 6.0)]
    assert fits[0] > fits[1] > fits[2]


def test_unknown_cloud_and_gusts_still_give_an_answer():
    answer = judged(air(315, 3.0, cloud_fraction=np.nan, gust_mps=np.nan))
    assert answer.fit is not None


def test_an_unknown_error_counts_as_the_greatest():
    unknown = judged(air(270, error_deg=np.nan))
    greatest = judged(air(270, error_deg=SETTINGS.error_most_deg))
    assert unknown.fit == greatest.fit


NUMBERS = st.one_of(st.floats(allow_nan=True, allow_infinity=True), st.floats(0, 20))


@settings(max_examples=60, deadline=None)
@given(
    wind=st.lists(NUMBERS, min_size=3, max_size=3),
    speed=st.lists(NUMBERS, min_size=3, max_size=3),
    gust=NUMBERS,
    cloud=NUMBERS,
    sun=NUMBERS,
    rain=NUMBERS,
    error=NUMBERS,
)
def test_no_input_brings_a_nan_into_an_answer(wind, speed, gust, cloud, sun, rain, error):
    hours = air(
        wind, speed, gust_mps=gust, cloud_fraction=cloud, sun_elevation_deg=sun,
        sun_azimuth_deg=270.0, rain_mm=rain, error_deg=error,
    )  # fmt: skip
    stand = tree_stand(
        slope_aspect_deg=90.0,
        slope_deg=12.0,
        approach=np.array([[-80.0, 0.0], [0.0, 0.0]]),
        exit=np.array([[0.0, 0.0], [0.0, 50.0]]),
    )
    receptors = [BEDDING, corridor(at(0, 100), at(90, 60))]
    answer = judged(hours, stand, receptors)
    json.dumps(answer.as_dict(), allow_nan=False)
    assert 0 <= answer.fit_at_most <= 1
    assert sum(answer.sector_per_mille) in (0, 1000)


def test_hourly_arrays_must_agree():
    with pytest.raises(ValueError, match="gust_mps must have shape"):
        replace(air(0), gust_mps=np.zeros(2))


def test_an_hour_has_at_most_six_steps():
    with pytest.raises(ValueError, match="0 to 6 steps"):
        air(0, steps=7.0)


def test_no_sessions_give_no_answers():
    assert stand_fits(stands=[blind()], receptors=[BEDDING], sessions=[], settings=SETTINGS) == [[]]


def test_a_receptor_needs_points_and_weights():
    with pytest.raises(ValueError, match="needs points"):
        replace(BEDDING, points=np.empty((0, 2)), weights=np.empty(0))
    with pytest.raises(ValueError, match="one weight a point"):
        replace(BEDDING, weights=np.ones(2))
    with pytest.raises(ValueError, match="weight above zero"):
        Receptor(
            feature_id="x",
            name="x",
            kind="bedding",
            behaviour=Behaviour.STAYING,
            points=np.zeros((1, 2)),
            weights=np.zeros(1),
        )


def test_a_stand_needs_a_known_cover_and_a_finite_place():
    with pytest.raises(ValueError, match="cover is one of"):
        blind(cover="swamp")
    with pytest.raises(ValueError, match="finite place"):
        StandPlace(position=np.array([np.nan, 0.0]))


def test_a_changed_table_falls_back_to_the_defaults_and_is_checked():
    changed = resolve(
        WindSettings, {"wind": {"presence": {"bedding/evening/hunt": 0.1}}}, group_name="wind"
    )
    assert changed.presence_of(kind="bedding", session="evening", part="hunt") == 0.1
    default = SETTINGS.presence_of(kind="food_plot", session="evening", part="hunt")
    assert changed.presence_of(kind="food_plot", session="evening", part="hunt") == default
    for wrong, told in (("many", "must be a number"), (-0.1, "from zero up")):
        with pytest.raises(InvalidSetting, match=told):
            resolve(
                WindSettings,
                {"wind": {"presence": {"bedding/evening/hunt": wrong}}},
                group_name="wind",
            )
