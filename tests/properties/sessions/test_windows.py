"""Sessions follow the sun, inside the property's shooting light."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from properties.sessions.kinds import SessionKey, SessionKind
from properties.sessions.place import Place
from properties.sessions.settings import SessionSettings
from properties.sessions.sun import sun_day
from properties.sessions.windows import (
    NoSession,
    SessionWindow,
    all_day_window,
    session_window,
    session_windows,
    shooting_light,
)

DEFAULTS = SessionSettings()
MISSOURI = Place(latitude_deg=38.63, longitude_deg=-90.20, time_zone="America/Chicago")
BARROW = Place(latitude_deg=71.2906, longitude_deg=-156.7886, time_zone="America/Anchorage")
DAY = date(2024, 11, 9)
MORNING = SessionKey(DAY, SessionKind.MORNING)
EVENING = SessionKey(DAY, SessionKind.EVENING)


def minutes(number):
    return timedelta(minutes=number)


def test_a_morning_runs_from_shooting_light_to_its_hours_after_sunrise():
    window = session_window(place=MISSOURI, session=MORNING, settings=DEFAULTS)
    sunrise = sun_day(MISSOURI, DAY).sunrise
    assert window == SessionWindow(
        keys=(MORNING,),
        approach_from=sunrise - minutes(75),
        hunt_from=sunrise - minutes(30),
        hunt_until=sunrise + minutes(240),
        exit_until=sunrise + minutes(285),
    )


def test_an_evening_runs_from_its_hours_before_sunset_to_the_end_of_shooting_light():
    window = session_window(place=MISSOURI, session=EVENING, settings=DEFAULTS)
    sunset = sun_day(MISSOURI, DAY).sunset
    assert window == SessionWindow(
        keys=(EVENING,),
        approach_from=sunset - minutes(225),
        hunt_from=sunset - minutes(180),
        hunt_until=sunset + minutes(30),
        exit_until=sunset + minutes(75),
    )


def test_an_all_day_sit_stands_for_both_sessions():
    window = all_day_window(place=MISSOURI, local_date=DAY, settings=DEFAULTS)
    morning = session_window(place=MISSOURI, session=MORNING, settings=DEFAULTS)
    evening = session_window(place=MISSOURI, session=EVENING, settings=DEFAULTS)
    assert window.keys == (MORNING, EVENING)
    assert (window.approach_from, window.hunt_from) == (morning.approach_from, morning.hunt_from)
    assert (window.hunt_until, window.exit_until) == (evening.hunt_until, evening.exit_until)


def test_a_property_may_end_shooting_light_before_sunset():
    strict = replace(DEFAULTS, shooting_light_after_sunset_min=-15.0)
    window = session_window(place=MISSOURI, session=EVENING, settings=strict)
    assert window.hunt_until == sun_day(MISSOURI, DAY).sunset - minutes(15)


@pytest.mark.parametrize(
    ("local_date", "words"),
    [
        (date(2024, 11, 19), "the sun stays below the horizon"),
        (date(2024, 6, 21), "the sun did not set the night before"),
        (date(2024, 5, 10), "the sun does not set"),
    ],
)
def test_where_the_sun_does_not_rise_and_set_there_is_no_session(local_date, words):
    for kind in SessionKind:
        key = SessionKey(local_date, kind)
        answer = session_window(place=BARROW, session=key, settings=DEFAULTS)
        assert answer == NoSession(keys=(key,), reason=words)
    whole = all_day_window(place=BARROW, local_date=local_date, settings=DEFAULTS)
    assert isinstance(whole, NoSession)
    assert len(whole.keys) == 2


def test_on_the_last_short_day_of_the_north_morning_and_evening_meet_at_noon():
    day = date(2024, 11, 18)
    sun = sun_day(BARROW, day)
    morning, evening = session_windows(
        place=BARROW, first=day, last=day, settings=DEFAULTS
    ).values()
    assert morning.hunt_until == evening.hunt_from == sun.solar_noon
    assert morning.hunt_from == sun.sunrise - minutes(30)
    assert evening.hunt_until == sun.sunset + minutes(30)


def test_settings_that_leave_no_light_leave_no_session():
    day = date(2024, 11, 18)
    dark = replace(
        DEFAULTS, shooting_light_before_sunrise_min=-60.0, shooting_light_after_sunset_min=-60.0
    )
    answer = all_day_window(place=BARROW, local_date=day, settings=dark)
    assert answer.reason == "the settings leave no shooting light that day"
    assert shooting_light(sun_day(BARROW, day), dark) is None
    late = replace(
        DEFAULTS, shooting_light_before_sunrise_min=-90.0, morning_hunt_after_sunrise_h=1.0
    )
    morning = session_window(place=MISSOURI, session=MORNING, settings=late)
    assert morning.reason == "the settings leave no time to hunt in that session"


@pytest.mark.parametrize(
    ("local_date", "hours_on_the_clock"),
    [(date(2024, 11, 3), 5), (date(2024, 3, 10), 7), (date(2024, 11, 9), 6)],
    ids=["hour repeated", "hour skipped", "no change"],
)
def test_a_change_of_the_clock_makes_no_session_longer_or_shorter(local_date, hours_on_the_clock):
    """The clocks change at 02:00; a walk in of 6 h spans it."""
    early = replace(DEFAULTS, walk_in_min=360.0)
    window = session_window(
        place=MISSOURI, session=SessionKey(local_date, SessionKind.MORNING), settings=early
    )
    assert window.hunt_from - window.approach_from == timedelta(hours=6)
    begin, end = (
        instant.astimezone(MISSOURI.zone).replace(tzinfo=None)
        for instant in (window.approach_from, window.hunt_from)
    )
    assert end - begin == timedelta(hours=hours_on_the_clock)
    assert end.date() == local_date


def test_a_season_has_two_sessions_a_day_in_order():
    windows = session_windows(
        place=MISSOURI, first=date(2024, 9, 15), last=date(2025, 1, 15), settings=DEFAULTS
    )
    assert len(windows) == 2 * 123
    assert list(windows) == sorted(windows, key=lambda key: key.order)
    for before, after in pairwise(windows.values()):
        assert before.hunt_until <= after.hunt_from


options = st.builds(
    SessionSettings,
    shooting_light_before_sunrise_min=st.floats(-120, 60),
    shooting_light_after_sunset_min=st.floats(-120, 60),
    walk_in_min=st.floats(0, 240),
    walk_out_min=st.floats(0, 240),
    morning_hunt_after_sunrise_h=st.floats(0.5, 12),
    evening_hunt_before_sunset_h=st.floats(0.5, 12),
)


@settings(max_examples=60, deadline=None)
@example(
    SessionSettings(
        shooting_light_before_sunrise_min=0.0,
        shooting_light_after_sunset_min=-31.0,
        walk_in_min=0.0,
        walk_out_min=0.0,
        morning_hunt_after_sunrise_h=1.0,
        evening_hunt_before_sunset_h=1.0,
    ),
    BARROW,
    date(2024, 1, 23),
)
@given(
    options,
    st.sampled_from([MISSOURI, BARROW]),
    st.dates(min_value=date(2024, 1, 1), max_value=date(2024, 12, 31)),
)
def test_whatever_the_settings_a_hunt_stays_in_shooting_light_and_sessions_apart(
    chosen, place, local_date
):
    light = shooting_light(sun_day(place, local_date), chosen)
    windows = session_windows(place=place, first=local_date, last=local_date, settings=chosen)
    held = [window for window in windows.values() if isinstance(window, SessionWindow)]
    for window in held:
        assert light.begins_at <= window.hunt_from < window.hunt_until <= light.ends_at
        assert window.approach_from <= window.hunt_from
        assert window.hunt_until <= window.exit_until
    if len(held) == 2:
        assert held[0].hunt_until <= held[1].hunt_from
