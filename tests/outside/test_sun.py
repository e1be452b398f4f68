"""The sun against published tables and against an independent implementation.

Published sunrises are compared with ±1 min where the source prints minutes.
"""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pandas as pd
import pytest
from pvlib import solarposition

from properties.sessions.place import Place
from properties.sessions.sun import sun_day, sun_days
from properties.sessions.sun_position import sun_positions

MINUTE = timedelta(minutes=1)


def place(latitude, longitude, zone="UTC"):
    return Place(latitude_deg=latitude, longitude_deg=longitude, time_zone=zone)


def clock(where, instant):
    return instant.astimezone(where.zone).replace(tzinfo=None)


# Reda & Andreas, "Solar Position Algorithm for Solar Radiation Applications",
# NREL/TP-560-34302 (revised 2008), table A5.1: 2003-10-17 12:30:30, UTC−7.
GOLDEN = place(39.742476, -105.1786, "Etc/GMT+7")


def test_the_sun_stands_where_the_solar_position_algorithm_prints_it():
    # The report takes UT1 and UTC as one; on that day UT1 − UTC was −0.3625 s (IERS tables),
    # so the earth stood as in the report 0.3625 s later.
    instant = datetime(2003, 10, 17, 19, 30, 30, 362_500, tzinfo=UTC)
    positions = sun_positions(GOLDEN, [instant])
    # Elevation without refraction. The report claims ±0.0003°.
    assert positions.elevation_deg[0] == pytest.approx(39.872046, abs=0.0003)
    assert positions.azimuth_deg[0] == pytest.approx(194.34024, abs=0.0003)


def test_sunrise_and_noon_of_the_solar_position_algorithm():
    day = sun_day(GOLDEN, date(2003, 10, 17))
    second = timedelta(seconds=2)
    assert abs(clock(GOLDEN, day.sunrise) - datetime(2003, 10, 17, 6, 12, 43)) <= second
    assert abs(clock(GOLDEN, day.solar_noon) - datetime(2003, 10, 17, 11, 46, 5)) <= second
    # The report prints 17:20:19, which is the sunset of 16 October, local: it counts by UT day.
    before = sun_day(GOLDEN, date(2003, 10, 16))
    assert abs(clock(GOLDEN, before.sunset) - datetime(2003, 10, 16, 17, 20, 19)) <= second


def test_sunrise_and_sunset_printed_to_the_second():
    # Same report, from the Astronomical Almanac: 35° north, 0° east, 1994-01-02, UT.
    where = place(35.0, 0.0)
    day = sun_day(where, date(1994, 1, 2))
    second = timedelta(seconds=2)
    assert abs(clock(where, day.sunrise) - datetime(1994, 1, 2, 7, 8, 12)) <= second
    assert abs(clock(where, day.sunset) - datetime(1994, 1, 2, 16, 59, 55)) <= second


@pytest.mark.parametrize(
    ("where", "local_date", "sunrise", "sunset"),
    [
        # US Naval Observatory, as printed in the test suite of pvlib.
        (place(39.0, -105.0, "Etc/GMT+7"), date(2015, 1, 2), (7, 19), (16, 49)),
        (place(39.0, -105.0, "Etc/GMT+7"), date(2015, 8, 2), (5, 1), (19, 10)),
        # US Naval Observatory, as printed in the test suite of skyfield.
        (place(41.281944, -84.362778, "Etc/GMT+5"), date(2019, 11, 8), (7, 17), (17, 25)),
        # Test suite of astral.
        (place(51.5, -0.1167), date(2015, 12, 1), (7, 43), (15, 55)),
    ],
)
def test_published_sunrises_and_sunsets(where, local_date, sunrise, sunset):
    day = sun_day(where, local_date)
    midnight = datetime.combine(local_date, datetime.min.time())
    for instant, (hour, minute) in ((day.sunrise, sunrise), (day.sunset, sunset)):
        printed = midnight + timedelta(hours=hour, minutes=minute)
        assert abs(clock(where, instant) - printed) <= MINUTE


def test_published_civil_twilight():
    # Sources as above.
    ohio = place(41.281944, -84.362778, "Etc/GMT+5")
    day = sun_day(ohio, date(2019, 11, 8))
    assert abs(clock(ohio, day.civil_dawn) - datetime(2019, 11, 8, 6, 48)) <= MINUTE
    assert abs(clock(ohio, day.civil_dusk) - datetime(2019, 11, 8, 17, 54)) <= MINUTE
    london = place(51.5, -0.1167)
    dawn = sun_day(london, date(2015, 12, 1)).civil_dawn
    assert abs(clock(london, dawn) - datetime(2015, 12, 1, 7, 4)) <= MINUTE


def test_the_northernmost_town_sees_its_last_sunset_of_the_year():
    # The Spokesman-Review, 2024-11-17: the sun sets on 18 November at 13:27 and stays away.
    town = place(71.2906, -156.7886, "America/Anchorage")
    last = sun_day(town, date(2024, 11, 18))
    assert abs(clock(town, last.sunset) - datetime(2024, 11, 18, 13, 27)) <= MINUTE
    after = list(sun_days(town, date(2024, 11, 19), date(2025, 1, 21)))
    assert all(day.sunrise is None and day.sunset is None for day in after)


# NREL's SPA as written in pvlib: other theory of the sun's motion (VSOP87), other code.
PLACES = [
    place(38.63, -90.20, "America/Chicago"),
    place(47.5, 19.05, "Europe/Budapest"),
    place(-33.9, 151.2, "Australia/Sydney"),
    place(64.8, -147.7, "America/Anchorage"),
    place(0.0, 179.5, "Pacific/Tarawa"),
]


DELTA_T_S = 69.2  # TT − UT1 in 2024, IERS


def independent_positions(where, instants):
    return solarposition.spa_python(
        pd.DatetimeIndex(instants), where.latitude_deg, where.longitude_deg, delta_t=DELTA_T_S
    )


@pytest.mark.parametrize("where", PLACES, ids=lambda where: where.time_zone)
def test_positions_agree_with_an_independent_implementation_through_a_year(where):
    hours = np.arange(0, 8784, 5).astype("timedelta64[h]")
    instants = np.datetime64("2024-01-01T00:30:00") + hours
    ours = sun_positions(where, instants)
    theirs = independent_positions(where, instants)
    assert ours.elevation_deg == pytest.approx(theirs["elevation"].to_numpy(), abs=0.0006)
    across = (ours.azimuth_deg - theirs["azimuth"].to_numpy() + 180) % 360 - 180
    assert np.abs(across * np.cos(np.radians(ours.elevation_deg))).max() < 0.0006


@pytest.mark.parametrize("where", PLACES, ids=lambda where: where.time_zone)
def test_an_independent_implementation_finds_the_sun_on_the_horizon_at_our_instants(where):
    days = list(sun_days(where, date(2024, 1, 1), date(2024, 12, 31)))
    for name, elevation_deg in (
        ("sunrise", -50 / 60),
        ("sunset", -50 / 60),
        ("civil_dawn", -6),
        ("civil_dusk", -6),
    ):
        instants = [instant for day in days if (instant := getattr(day, name)) is not None]
        assert len(instants) > 250
        theirs = independent_positions(where, instants)["elevation"].to_numpy()
        # Half a second, to which we round, is up to 0.0021°; the rest is the two theories.
        assert theirs == pytest.approx(elevation_deg, abs=0.0027)


def test_sunrises_agree_with_an_independent_implementation_through_a_year():
    """Only where no event wraps round UT midnight, since the method works by UT day."""
    where = place(47.5, 19.05, "Europe/Budapest")
    days = list(sun_days(where, date(2024, 1, 1), date(2024, 12, 31)))
    table = solarposition.sun_rise_set_transit_spa(
        pd.date_range("2024-01-01", "2024-12-31", freq="D", tz="UTC"),
        where.latitude_deg,
        where.longitude_deg,
        delta_t=DELTA_T_S,
    )
    for column, ours in (
        ("sunrise", [day.sunrise for day in days]),
        ("sunset", [day.sunset for day in days]),
        ("transit", [day.solar_noon for day in days]),
    ):
        seconds = [
            (their - our).total_seconds() for their, our in zip(table[column], ours, strict=True)
        ]
        # The method leaves out the sun's parallax, 0.0024° or about a second here.
        assert np.abs(seconds).max() <= 3
