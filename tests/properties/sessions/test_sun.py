"""Sunrise and sunset by local date, and clear answers where there is none."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.sessions import sun
from properties.sessions.ephemeris import LAST_YEAR
from properties.sessions.place import Place
from properties.sessions.sun import Absence, SunEvent, sun_day, sun_days
from properties.sessions.sun_position import sun_positions

MISSOURI = Place(latitude_deg=38.63, longitude_deg=-90.20, time_zone="America/Chicago")
BARROW = Place(latitude_deg=71.2906, longitude_deg=-156.7886, time_zone="America/Anchorage")


def test_a_polar_night_has_no_sunrise_but_a_reason_and_twilight():
    day = sun_day(BARROW, date(2024, 11, 19))
    assert day.sunrise is None
    assert day.sunset is None
    assert day.missing == {
        SunEvent.SUNRISE: Absence.SUN_STAYS_BELOW,
        SunEvent.SUNSET: Absence.SUN_STAYS_BELOW,
    }
    assert day.why_missing(SunEvent.SUNRISE) == "the sun stays below the horizon"
    assert day.why_missing(SunEvent.CIVIL_DAWN) is None
    assert day.civil_dawn < day.solar_noon < day.civil_dusk


def test_a_midnight_sun_has_no_sunset_but_a_reason():
    day = sun_day(BARROW, date(2024, 6, 21))
    assert (day.sunrise, day.sunset, day.civil_dawn, day.civil_dusk) == (None,) * 4
    assert set(day.missing.values()) == {Absence.SUN_STAYS_ABOVE}
    assert day.why_missing(SunEvent.SUNSET) == "the sun does not set"


def test_an_evening_that_ends_after_midnight_still_belongs_to_its_day():
    day = sun_day(BARROW, date(2024, 8, 1))
    assert day.sunrise < day.solar_noon < day.sunset
    assert day.sunset.astimezone(BARROW.zone).date() == date(2024, 8, 2)


def test_the_last_day_before_the_midnight_sun_rises_and_does_not_set():
    last_night = sun_day(BARROW, date(2024, 5, 9))
    last = sun_day(BARROW, date(2024, 5, 10))
    assert last_night.sunset < last.sunrise
    assert last.sunset is None
    assert last.missing[SunEvent.SUNSET] is Absence.SUN_STAYS_ABOVE


@pytest.mark.parametrize("year", [2023, 2024])
def test_every_polar_day_is_whole_or_says_why_not(year):
    days = list(sun_days(BARROW, date(year, 1, 1), date(year, 12, 31)))
    assert len(days) == (366 if year == 2024 else 365)
    for day in days:
        for event in SunEvent:
            assert (getattr(day, event.value) is None) == (event in day.missing)
    rising = [day for day in days if day.sunrise is not None]
    assert 215 < len(rising) < 230
    instants = sorted(
        instant for day in days for instant in (day.sunrise, day.sunset) if instant is not None
    )
    assert len(instants) == len(set(instants))


@pytest.mark.parametrize(
    ("before", "change"),
    [
        (date(2024, 3, 9), date(2024, 3, 10)),
        (date(2024, 11, 2), date(2024, 11, 3)),
    ],
)
def test_the_sun_does_not_notice_a_change_of_the_clock(before, change):
    """The wall clock jumps by an hour; sunrises stay about a day apart."""
    first, second = sun_day(MISSOURI, before), sun_day(MISSOURI, change)
    assert abs(second.sunrise - first.sunrise - timedelta(days=1)) < timedelta(minutes=3)
    shift = (
        second.sunrise.astimezone(MISSOURI.zone).utcoffset()
        - first.sunrise.astimezone(MISSOURI.zone).utcoffset()
    )
    assert abs(shift) == timedelta(hours=1)


@settings(max_examples=6, deadline=None)
@given(
    latitude=st.floats(-60, 60),
    longitude=st.floats(-180, 180),
    year=st.integers(1990, 2040),
)
def test_below_60_degrees_every_day_has_its_events_in_order(latitude, longitude, year):
    hours = round(longitude / 15)
    # POSIX names of fixed zones count westward.
    zone = f"Etc/GMT{-hours:+d}" if hours else "UTC"
    place = Place(latitude_deg=latitude, longitude_deg=longitude, time_zone=zone)
    days = list(sun_days(place, date(year, 1, 1), date(year, 12, 31)))
    for day in days:
        assert day.sunrise < day.solar_noon < day.sunset
        assert day.solar_noon.astimezone(place.zone).date() == day.local_date
    for before, after in pairwise(days):
        assert before.sunset < after.sunrise
        assert abs(after.solar_noon - before.solar_noon - timedelta(days=1)) < timedelta(minutes=1)


@settings(max_examples=5, deadline=None)
@given(latitude=st.floats(-75, 75), longitude=st.floats(-180, 180))
def test_at_sunrise_and_sunset_the_sun_stands_where_the_definition_says(latitude, longitude):
    place = Place(
        latitude_deg=round(latitude, 3), longitude_deg=round(longitude, 3), time_zone="UTC"
    )
    days = list(sun_days(place, date(2025, 1, 1), date(2025, 12, 31)))
    for event, elevation in (
        (SunEvent.SUNRISE, -50 / 60),
        (SunEvent.SUNSET, -50 / 60),
        (SunEvent.CIVIL_DUSK, -6),
    ):
        instants = [instant for day in days if (instant := getattr(day, event.value)) is not None]
        positions = sun_positions(place, instants)
        # Half a second of rounding is 0.002°.
        assert positions.elevation_deg == pytest.approx(elevation, abs=0.003)


def test_a_zone_far_from_the_sun_still_gives_each_date_one_day():
    """Kiritimati's clock is UTC+14 at 157° west."""
    place = Place(latitude_deg=1.9, longitude_deg=-157.4, time_zone="Pacific/Kiritimati")
    days = list(sun_days(place, date(2024, 1, 1), date(2024, 12, 31)))
    assert len({day.solar_noon for day in days}) == 366
    assert all(day.solar_noon.astimezone(place.zone).date() == day.local_date for day in days)


def test_a_place_is_computed_once_a_year():
    sun._year.cache_clear()
    for day in range(1, 29):
        sun_day(MISSOURI, date(2024, 2, day))
    near = Place(latitude_deg=38.6301, longitude_deg=-90.2001, time_zone="America/Chicago")
    sun_day(near, date(2024, 12, 31))
    assert sun._year.cache_info().misses == 1


def test_years_without_an_ephemeris_are_refused():
    with pytest.raises(ValueError, match="not in 2053"):
        sun_day(MISSOURI, date(LAST_YEAR + 1, 1, 1))
    assert sun_day(MISSOURI, date(LAST_YEAR, 12, 31)).sunrise is not None
    assert sun_day(MISSOURI, date(1900, 1, 1)).sunrise is not None
    with pytest.raises(ValueError, match="not in 1850"):
        sun_positions(MISSOURI, np.array(["1850-01-01"], dtype="datetime64[s]"))


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [
        (91, 0, "UTC"),
        (0, 181, "UTC"),
        (float("nan"), 0, "UTC"),
        (0, 0, "Nowhere/Else"),
        (0, 0, "../etc"),
        (0, 0, ""),
    ],
)
def test_a_place_off_the_earth_or_without_a_clock_is_refused(latitude, longitude, zone):
    with pytest.raises(ValueError, match=r"no place on earth|unknown time zone"):
        Place(latitude_deg=latitude, longitude_deg=longitude, time_zone=zone)


def test_positions_come_in_the_shape_of_the_instants():
    hours = np.arange("2024-11-01", "2024-11-03", dtype="datetime64[h]").reshape(2, 24)
    positions = sun_positions(MISSOURI, hours)
    assert positions.elevation_deg.shape == positions.azimuth_deg.shape == (2, 24)
    one = sun_positions(MISSOURI, [datetime(2024, 11, 2, 5, tzinfo=UTC)])
    assert positions.elevation_deg[1, 5] == pytest.approx(one.elevation_deg[0])
    assert sun_positions(MISSOURI, []).elevation_deg.shape == (0,)


def test_many_instants_are_worked_in_parts_without_a_seam():
    minutes = np.datetime64("2024-11-01T00:00") + np.arange(20_010).astype("timedelta64[m]")
    elevation = sun_positions(MISSOURI, minutes).elevation_deg
    assert np.abs(np.diff(elevation)).max() < 0.26
    assert elevation[20_005] == pytest.approx(
        sun_positions(MISSOURI, minutes[20_005:20_006]).elevation_deg[0], abs=1e-9
    )


def test_a_naive_instant_is_refused():
    with pytest.raises(ValueError, match="needs a time zone"):
        sun_positions(MISSOURI, [datetime(2024, 11, 2, 5)])
    with pytest.raises(ValueError, match="without gaps"):
        sun_positions(MISSOURI, np.array(["NaT"], dtype="datetime64[s]"))


def test_the_same_instant_in_any_zone_is_the_same_sun():
    utc = datetime(2024, 11, 2, 15, tzinfo=UTC)
    local = utc.astimezone(ZoneInfo("America/Chicago"))
    assert (
        sun_positions(MISSOURI, [utc]).azimuth_deg == sun_positions(MISSOURI, [local]).azimuth_deg
    )
