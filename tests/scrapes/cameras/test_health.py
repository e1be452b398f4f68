"""Camera or deer? Each fault shows by its own sign, against this camera's own habit."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scrapes.cameras.health import (
    CameraEvidence,
    CameraState,
    allowed_silence_hours,
    battery_empty_at,
    camera_health,
)
from scrapes.cameras.settings import CameraHealthSettings

RULES = CameraHealthSettings()
HOUR, DAY = 3_600, 86_400
SINCE = 1_760_000_000
NOW = SINCE + 60 * DAY


def pictures(until, *, every_hours=8, seed=1):
    gaps = np.random.default_rng(seed).exponential(every_hours * HOUR, size=1000).astype(np.int64)
    times = SINCE + np.cumsum(gaps)
    return times[times < until]


def evidence(**changes):
    plain = CameraEvidence(
        camera="north", deployed_s=SINCE, known_up_to_s=NOW, trigger_s=pictures(NOW)
    )
    return replace(plain, **changes)


def judged(**changes):
    return camera_health(evidence(**changes), now_s=NOW, settings=RULES)


def codes(health):
    return [finding.code for finding in health.findings]


def batteries(start_percent, per_day, *, days=20, now=NOW):
    at = now - np.arange(days, -1, -1, dtype=np.int64) * DAY
    return {"battery_s": at, "battery_percent": start_percent + per_day * np.arange(days + 1.0)}


def test_a_camera_that_takes_pictures_as_ever_works():
    health = judged()
    assert health.state is CameraState.WORKING
    assert not health.hides_visits


def test_silence_of_every_trigger_points_to_the_camera():
    health = judged(trigger_s=pictures(NOW - 10 * DAY))
    assert health.state is CameraState.AT_FAULT
    assert codes(health) == ["silent"]
    assert health.findings[0].facts["silent_hours"] > health.findings[0].facts["allowed_hours"]
    assert "No picture of any kind" in health.findings[0].sentence


def test_a_camera_that_is_seldom_triggered_is_allowed_longer_silence():
    seldom = evidence(trigger_s=pictures(NOW, every_hours=36))
    often = evidence(trigger_s=pictures(NOW, every_hours=2))
    allowed = [allowed_silence_hours(one.trigger_s, settings=RULES) for one in (seldom, often)]
    assert allowed[0] > allowed[1] == RULES.silence_minimum_hours


def test_a_new_camera_has_no_habit_to_be_held_against_it():
    few = np.array([SINCE + HOUR, SINCE + 2 * HOUR], dtype=np.int64)
    known = {"trigger_s": few, "known_up_to_s": SINCE + 9 * DAY}
    assert judged(**known).state is CameraState.WORKING


def test_a_camera_with_hardly_a_picture_in_ten_days_is_looked_at_all_the_same():
    few = np.array([SINCE + HOUR], dtype=np.int64)
    none = np.zeros(0, dtype=np.int64)
    for pictured in (few, none):
        health = judged(trigger_s=pictured, known_up_to_s=SINCE + 11 * DAY)
        assert codes(health) == ["silent"]
        assert "too few pictures to show a habit" in health.findings[0].sentence


def test_after_the_card_was_pulled_silence_means_nothing():
    pulled = NOW - 20 * DAY
    assert judged(known_up_to_s=pulled, trigger_s=pictures(pulled)).state is CameraState.WORKING


def test_a_camera_never_read_is_unknown():
    assert judged(known_up_to_s=None).state is CameraState.UNKNOWN


def test_a_camera_taken_down_is_not_silent_since():
    down = NOW - 20 * DAY
    assert judged(taken_down_s=down, trigger_s=pictures(down)).state is CameraState.WORKING


def test_a_missing_report_points_to_the_camera_and_one_in_time_does_not():
    reports = np.arange(SINCE, NOW - 5 * DAY, DAY, dtype=np.int64)
    assert codes(judged(heartbeat_s=reports)) == ["no_heartbeat"]
    assert codes(judged(heartbeat_s=np.append(reports, NOW - HOUR))) == []
    assert codes(judged(heartbeat_s=np.zeros(0, dtype=np.int64))) == ["no_heartbeat"]


def test_a_falling_battery_is_given_a_date_and_a_warning_before_it_is_empty():
    health = judged(**batteries(54, -2.0))
    assert health.state is CameraState.NEEDS_CARE
    assert not health.hides_visits
    assert health.empty_s == NOW + 2 * DAY
    assert np.datetime_as_string(np.datetime64(health.empty_s, "s"), unit="D") in (
        health.findings[0].sentence
    )


def test_a_battery_that_lasts_raises_nothing_though_its_date_is_known():
    health = judged(**batteries(100, -0.5))
    assert codes(health) == []
    assert health.empty_s == pytest.approx(NOW + 160 * DAY, abs=DAY)


def test_an_empty_battery_hides_visits_even_when_nothing_else_shows():
    assert codes(judged(**batteries(48, -2.0))) == ["battery_empty"]


def test_a_battery_whose_line_ran_out_since_the_last_reading_is_spent():
    health = judged(**batteries(70, -2.0, now=NOW - 15 * DAY))
    assert codes(health) == ["battery_spent"]
    assert health.hides_visits


def test_new_batteries_begin_a_new_trend():
    old, new = batteries(60, -2.0, now=NOW - 5 * DAY), batteries(99, -1.0, days=4)
    at = np.append(old["battery_s"], new["battery_s"])
    charge = np.append(old["battery_percent"], new["battery_percent"])
    assert battery_empty_at(at, charge, settings=RULES) == NOW + 85 * DAY


def test_one_cold_morning_does_not_move_the_battery_date():
    readings = batteries(100, -1.0)
    cold = readings["battery_percent"].copy()
    cold[10] -= 12
    steady = battery_empty_at(**readings, settings=RULES)
    assert battery_empty_at(readings["battery_s"], cold, settings=RULES) == pytest.approx(
        steady, abs=2 * DAY
    )


@pytest.mark.parametrize("per_day", [0.0, 0.3])
def test_a_battery_that_does_not_fall_has_no_date(per_day):
    assert battery_empty_at(**batteries(60, per_day), settings=RULES) is None


def test_a_full_card_hides_visits():
    assert codes(judged(card_used_percent=99.0)) == ["card_full"]
    assert codes(judged(card_used_percent=60.0)) == []


def test_pictures_outside_the_deployment_show_a_wrong_clock():
    reset = np.array([1_262_304_000 + n * HOUR for n in range(20)], dtype=np.int64)  # 2010
    assert codes(judged(trigger_s=np.append(pictures(NOW), reset))) == ["clock_wrong"]
    ahead = np.append(pictures(NOW), NOW + np.arange(1, 21, dtype=np.int64) * DAY)
    assert codes(judged(trigger_s=ahead)) == ["clock_wrong"]


def test_slow_death_shows_by_battery_before_it_shows_by_silence():
    early = judged(**batteries(54, -2.0), trigger_s=pictures(NOW))
    late = camera_health(
        evidence(**batteries(54, -2.0), trigger_s=pictures(NOW), known_up_to_s=NOW + 10 * DAY),
        now_s=NOW + 10 * DAY,
        settings=RULES,
    )
    assert codes(early) == ["battery_low"]
    assert codes(late) == ["silent", "battery_spent"]


@settings(max_examples=40, deadline=None)
@given(order=st.permutations(range(12)))
def test_the_order_of_readings_does_not_matter(order):
    readings = batteries(80, -1.5, days=11)
    shuffled = {name: values[list(order)] for name, values in readings.items()}
    assert judged(**shuffled) == judged(**readings)


def test_the_allowed_silence_is_a_percentile_of_the_cameras_own_gaps_by_hand():
    """Gaps of 10, 20 ... 200 h: place 0.995 x 19 = 18.905 of them is 199.05 h; twice that."""
    at = SINCE + np.append(0, np.cumsum(np.arange(10, 201, 10))) * HOUR
    assert allowed_silence_hours(at, settings=RULES) == pytest.approx(398.1)
    shuffled = np.random.default_rng(4).permutation(at)
    assert allowed_silence_hours(shuffled, settings=RULES) == pytest.approx(398.1)


def test_pictures_close_together_are_one_stirring_and_no_gap_of_the_habit():
    at = SINCE + np.append(0, np.cumsum(np.arange(10, 201, 10))) * HOUR
    bursts = (at[:, None] + np.arange(0, 3000, 10)).ravel()
    expected = 398.1 - 2 * 2990 / HOUR
    assert allowed_silence_hours(bursts, settings=RULES) == pytest.approx(expected)


def test_silence_up_to_what_is_allowed_is_none_and_beyond_it_is():
    at = SINCE + np.append(0, np.cumsum(np.arange(10, 201, 10))) * HOUR
    last = int(at[-1])
    within = {"trigger_s": at, "known_up_to_s": last + 398 * HOUR}
    beyond = {"trigger_s": at, "known_up_to_s": last + 399 * HOUR}
    assert codes(judged(**within)) == []
    assert codes(judged(**beyond)) == ["silent"]


def test_the_battery_date_by_hand():
    """80 77 75 70 60 % on five days: the median of the ten slopes is -4.25 a day.

    The line through the medians stands at 75 - 2 x 4.25 = 66.5 on the last day, and
    (66.5 - 10) / 4.25 days are left.
    """
    at = NOW - np.arange(4, -1, -1, dtype=np.int64) * DAY
    charge = np.array([80.0, 77, 75, 70, 60])
    empty_s = battery_empty_at(at, charge, settings=RULES)
    assert empty_s == pytest.approx(NOW + (66.5 - 10) / 4.25 * DAY, abs=1)


def test_pictures_that_no_import_took_count_against_the_clock():
    total = len(pictures(NOW))
    assert codes(judged(rows_outside=1)) == []
    health = judged(rows_outside=10)
    assert codes(health) == ["clock_wrong"]
    assert health.findings[0].facts == {"outside": 10, "pictures": total + 10}


def test_a_clock_known_by_nothing_but_pictures_not_taken_is_doubted():
    none = np.zeros(0, dtype=np.int64)
    health = judged(trigger_s=none, known_up_to_s=SINCE + DAY, rows_outside=3)
    assert codes(health) == ["clock_wrong"]


@pytest.mark.parametrize(
    ("told", "at_night", "found"),
    [(9, 9, []), (20, 1, []), (20, 2, ["daylight_at_night"]), (0, 0, [])],
)
def test_daylight_at_night_shows_a_clock_half_a_day_off(told, at_night, found):
    health = judged(daylight_pictures=told, daylight_at_night=at_night)
    assert codes(health) == found
    assert health.hides_visits == bool(found)
