"""Local dates and wall clocks through the changes of daylight saving time."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.sessions.local_time import Clock, instant_of, local_date_of, local_day

CHICAGO = ZoneInfo("America/Chicago")
SPRING, AUTUMN = date(2024, 3, 10), date(2024, 11, 3)


def test_an_ordinary_time_is_shown_once():
    answer = instant_of(date(2024, 11, 9), time(6, 30), CHICAGO)
    assert answer.instant == datetime(2024, 11, 9, 12, 30, tzinfo=UTC)
    assert answer.clock is Clock.ONCE


def test_a_skipped_time_is_read_as_if_the_clock_had_not_moved():
    answer = instant_of(SPRING, time(2, 30), CHICAGO)
    assert answer.clock is Clock.SKIPPED
    assert answer.instant == datetime(2024, 3, 10, 8, 30, tzinfo=UTC)
    assert answer.instant.astimezone(CHICAGO).time() == time(3, 30)


def test_a_repeated_time_means_its_first_showing_unless_told():
    first = instant_of(AUTUMN, time(1, 30), CHICAGO)
    second = instant_of(AUTUMN, time(1, 30), CHICAGO, second_showing=True)
    assert first.clock is second.clock is Clock.REPEATED
    assert first.instant == datetime(2024, 11, 3, 6, 30, tzinfo=UTC)
    assert second.instant - first.instant == timedelta(hours=1)


@pytest.mark.parametrize(
    ("local_date", "hours"), [(SPRING, 23), (AUTUMN, 25), (date(2024, 11, 9), 24)]
)
def test_a_day_has_23_24_or_25_hours(local_date, hours):
    begin, end = local_day(local_date, CHICAGO)
    assert end - begin == timedelta(hours=hours)


def test_a_day_whose_midnight_is_skipped_begins_at_the_change():
    """Cuba's clocks go forward at midnight: 2024-03-10 begins at 01:00, 05:00 UTC."""
    havana = ZoneInfo("America/Havana")
    begin, end = local_day(date(2024, 3, 10), havana)
    assert begin == datetime(2024, 3, 10, 5, tzinfo=UTC)
    assert begin.astimezone(havana).time() == time(1)
    assert end - begin == timedelta(hours=23)
    assert local_date_of(begin - timedelta(seconds=1), havana) == date(2024, 3, 9)


def test_a_day_whose_midnight_is_shown_twice_begins_at_the_first():
    """Cuba's clocks go back from 01:00 to midnight on 2024-11-03."""
    begin, end = local_day(date(2024, 11, 3), ZoneInfo("America/Havana"))
    assert begin == datetime(2024, 11, 3, 4, tzinfo=UTC)
    assert end - begin == timedelta(hours=25)


@given(
    st.datetimes(min_value=datetime(2000, 1, 1), max_value=datetime(2037, 1, 1)),
    st.sampled_from(
        ["America/Chicago", "America/Anchorage", "America/Havana", "Australia/Lord_Howe", "UTC"]
    ),
)
def test_every_instant_lies_in_the_day_of_its_local_date(naive, zone_name):
    zone = ZoneInfo(zone_name)
    instant = naive.replace(tzinfo=UTC)
    begin, end = local_day(local_date_of(instant, zone), zone)
    assert begin <= instant < end


def test_a_naive_instant_has_no_local_date():
    with pytest.raises(ValueError, match="time zone"):
        local_date_of(datetime(2024, 1, 1), CHICAGO)
