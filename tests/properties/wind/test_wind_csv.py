"""The documented CSV of wind: units, times, dialects, and every line accounted for."""

import io
from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.wind.weather_hours import PlausibleWeather, Skipped
from properties.wind.wind_csv import UnreadableWindCsv, read_wind_csv, wind_csv_rows

HEADER = "time,wind_from_deg,speed_mps,gust_mps,cloud_fraction,temperature_c,precipitation_mm"
NEW_YORK = ZoneInfo("America/New_York")


def csv_of(*rows, header="time,wind_from_deg,speed_mps"):
    return "\n".join([header, *rows]).encode()


def only(*rows, header="time,wind_from_deg,speed_mps", **options):
    outcome = read_wind_csv(csv_of(*rows, header=header), **options)
    assert not outcome.skipped, outcome.reconciliation
    return outcome.hours[0]


def skip_code(*rows, header="time,wind_from_deg,speed_mps", **options):
    outcome = read_wind_csv(csv_of(*rows, header=header), **options)
    assert len(outcome.skipped) == 1, outcome.reconciliation
    return outcome.skipped[0].code


def test_a_full_row_becomes_an_hour():
    hour = only("2026-11-07T06:00:00-06:00,270,3.5,7,0.25,4.5,0.2", header=HEADER)

    assert hour.instant == datetime(2026, 11, 7, 12, tzinfo=UTC)
    assert (hour.wind_from_deg, hour.speed_mps, hour.gust_mps) == (270, 3.5, 7)
    assert (hour.cloud_fraction, hour.temperature_c, hour.precipitation_mm) == (0.25, 4.5, 0.2)
    assert hour.source == "wind CSV"


@pytest.mark.parametrize(
    ("column", "written", "speed_mps"),
    [
        ("speed_mps", "10", 10),
        ("speed_kmh", "36", 10),
        ("speed_kt", "10", 5.14444),  # 1 kt = 0.514444 m/s
        ("speed_mph", "10", 4.4704),  # the international mile, 1609.344 m
        ("SPEED_KT", "10", 5.14444),
    ],
)
def test_the_unit_of_speed_stands_in_the_header(column, written, speed_mps):
    hour = only(f"2026-11-07T12:00Z,90,{written}", header=f"time,wind_from_deg,{column}")
    assert hour.speed_mps == pytest.approx(speed_mps, rel=1e-5)


def test_other_quantities_have_units_too():
    header = "time,wind_from_deg,speed_mps,gust_mph,temperature_f,cloud_percent,precipitation_in"
    hour = only("2026-11-07T12:00Z,90,3,20,50,75,0.1", header=header)
    assert hour.gust_mps == pytest.approx(8.9408)
    assert hour.temperature_c == pytest.approx(10)
    assert (hour.cloud_fraction, hour.precipitation_mm) == (0.75, pytest.approx(2.54))


def test_columns_may_stand_in_any_order():
    hour = only("4,2026-11-07T12:00Z,90", header="speed_mps,time,wind_from_deg")
    assert (hour.wind_from_deg, hour.speed_mps) == (90, 4)


def test_calm_variable_unknown_and_north_are_four_different_things():
    rows = [
        "2026-11-07T00:00Z,0,0",
        "2026-11-07T01:00Z,VRB,1.5",
        "2026-11-07T02:00Z,,1.5",
        "2026-11-07T03:00Z,NA,NA",
        "2026-11-07T04:00Z,360,3",
        "2026-11-07T05:00Z,0,3",
    ]
    hours = read_wind_csv(csv_of(*rows)).hours
    assert [(h.calm, h.variable, h.wind_from_deg) for h in hours] == [
        (True, False, None),
        (False, True, None),
        (False, False, None),
        (False, False, None),
        (False, False, 360),
        (False, False, 360),
    ]
    assert hours[3].speed_mps is None


def test_a_time_without_offset_is_refused_unless_its_clock_is_told():
    row = "2026-11-07 06:00,90,3"
    assert skip_code(row) == "time_without_offset"
    assert only(row, zone=NEW_YORK).instant == datetime(2026, 11, 7, 11, tzinfo=UTC)
    fixed = timezone(timedelta(hours=-6))
    assert only(row, zone=fixed).instant == datetime(2026, 11, 7, 12, tzinfo=UTC)


def test_an_offset_in_the_file_beats_the_zone_passed_in():
    hour = only("2026-11-07T06:00:00+00:00,90,3", zone=NEW_YORK)
    assert hour.instant == datetime(2026, 11, 7, 6, tzinfo=UTC)


def test_local_times_that_the_change_of_clocks_skips_or_repeats_are_refused():
    # 2026-03-08 and 2026-11-01 are the changes in New York (US rule since 2007).
    assert skip_code("2026-03-08T02:30,90,3", zone=NEW_YORK) == "time_skipped_by_clock"
    assert skip_code("2026-11-01T01:30,90,3", zone=NEW_YORK) == "time_repeated_by_clock"
    assert only("2026-11-01T01:30-05:00,90,3", zone=NEW_YORK).instant.hour == 6


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ("7 Nov 2026,90,3", "malformed_time"),
        ("2026-11-07,90,3", "malformed_time"),
        ("2026-13-07T12:00Z,90,3", "malformed_time"),
        ("2026-11-07T24:00Z,90,3", "malformed_time"),
        ("2026-11-07T12:00:60Z,90,3", "malformed_time"),
        ("0001-01-01T00:00+14:00,90,3", "malformed_time"),
        (",90,3", "malformed_time"),
        ("2026-11-07T12:00Z,90", "wrong_number_of_cells"),
        ("2026-11-07T12:00Z,90,3,4", "wrong_number_of_cells"),
        ("2026-11-07T12:00Z,NE,3", "malformed_number"),
        ("2026-11-07T12:00Z,90,three", "malformed_number"),
        ("2026-11-07T12:00Z,90,nan", "malformed_number"),
        ("2026-11-07T12:00Z,90,inf", "malformed_number"),
        ("2026-11-07T12:00Z,90,1_0", "malformed_number"),
        ("2026-11-07T12:00Z,90,٣", "malformed_number"),
        ("2026-11-07T12:00Z,90,1e999", "speed_not_finite"),
        ("2026-11-07T12:00Z,361,3", "impossible_direction"),
        ("2026-11-07T12:00Z,-10,3", "impossible_direction"),
        ("2026-11-07T12:00Z,90,-3", "impossible_speed"),
        ("2026-11-07T12:00Z,90,468.7", "impossible_speed"),
        ('2026-11-07T12:00Z,90,"3', "malformed_row"),
    ],
)
def test_a_bad_line_is_skipped_with_its_number_and_reason(row, code):
    outcome = read_wind_csv(csv_of("2026-11-07T00:00Z,90,3", row, "2026-11-08T00:00Z,90,3"))
    assert outcome.places_by_code == {code: (3,)}
    assert (outcome.read, len(outcome.hours)) == (3, 2)


def test_the_fastest_wind_believed_is_a_setting():
    row = "2026-11-07T12:00Z,90,70"
    assert skip_code(row) == "impossible_speed"
    assert only(row, bounds=PlausibleWeather(max_speed_mps=80)).speed_mps == 70


def test_of_two_lines_for_one_instant_the_first_counts():
    outcome = read_wind_csv(csv_of("2026-11-07T12:00Z,90,3", "2026-11-07T06:00-06:00,180,5"))
    assert [hour.wind_from_deg for hour in outcome.hours] == [90]
    assert outcome.skipped == (
        Skipped(place=3, code="repeated_time", reason="line 2 has the same time"),
    )


def test_blank_lines_are_passed_over_but_counted_as_lines():
    outcome = read_wind_csv(b"\n" + csv_of("", "2026-11-07T12:00Z,90,x", "  ", ""))
    assert outcome.places_by_code == {"malformed_number": (4,)}
    assert outcome.read == 1


def test_a_byte_order_mark_and_windows_line_ends_change_nothing():
    plain = csv_of("2026-11-07T12:00Z,90,3", "2026-11-07T13:00Z,100,4")
    dressed = b"\xef\xbb\xbf" + plain.replace(b"\n", b"\r\n")
    assert read_wind_csv(dressed) == read_wind_csv(plain)


def test_semicolons_and_decimal_commas_are_read():
    header = "time;wind_from_deg;speed_mps;temperature_c"
    hour = only("2026-11-07T12:00Z;90;3,5;-1,5", header=header)
    assert (hour.speed_mps, hour.temperature_c) == (3.5, -1.5)
    assert only("2026-11-07T12:00Z;90;3.5;1", header=header).speed_mps == 3.5


def test_tabs_part_cells_and_quotes_are_taken_off():
    hour = only('2026-11-07T12:00Z\t"90"\t 3.5 ', header='time\t"wind_from_deg"\tspeed_mps')
    assert (hour.wind_from_deg, hour.speed_mps) == (90, 3.5)


@pytest.mark.parametrize(
    ("file", "line", "words"),
    [
        (b"", 1, "empty"),
        (b"\n \n", 1, "empty"),
        (b"time,wind_from_deg\n", 1, "speed_mps is missing"),
        (b"wind_from_deg,speed_mps\n", 1, "time is missing"),
        (b"time,wind_from_deg,speed_mps,humidity\n", 1, "unknown column 'humidity'"),
        (b"time,wind_from_deg,speed_mps,speed_kt\n", 1, "speed_mps, speed_kt"),
        (b"time,time,wind_from_deg,speed_mps\n", 1, "says the same"),
        (HEADER.encode("utf-16"), 1, "UTF-16"),
        (HEADER.encode() + b"\n2026-11-07T12:00Z,90,3,\xb0,,,\n", 2, "not UTF-8"),
        (HEADER.encode() + b"\n\0\n", 2, "NUL"),
        (HEADER.encode() + b"\n" + b"9" * 20_000, 2, "longer than"),
        (b"PK\x03\x04" + bytes(range(128, 200)), 1, "not UTF-8"),
    ],
)
def test_a_file_that_cannot_be_read_at_all_says_where_and_why(file, line, words):
    with pytest.raises(UnreadableWindCsv, match=words) as refused:
        read_wind_csv(file)
    assert refused.value.line == line


def test_rows_come_out_while_the_file_is_still_being_read():
    class Endless(io.RawIOBase):
        asked = 0

        def readline(self, size=-1):
            self.asked += 1
            if self.asked == 1:
                return b"time,wind_from_deg,speed_mps\n"
            start = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(hours=self.asked)
            return f"{start.isoformat()},90,3\n".encode()

    file = Endless()
    rows = wind_csv_rows(file)
    assert [next(rows).wind_from_deg for _ in range(3)] == [90, 90, 90]
    assert file.asked == 4


@given(st.binary(max_size=200))
def test_whatever_bytes_follow_the_header_no_line_is_lost(content):
    try:
        outcome = read_wind_csv(csv_of("") + content)
    except UnreadableWindCsv:
        return
    assert outcome.read == sum(bool(line.decode().strip()) for line in content.split(b"\n"))


@given(
    direction=st.floats(0.1, 360),
    speed=st.floats(0.001, 60),
    instant=st.datetimes(datetime(1990, 1, 1), datetime(2040, 1, 1), timezones=st.just(UTC)),
)
def test_what_is_written_out_is_read_back(direction, speed, instant):
    hour = only(f"{instant.isoformat()},{direction!r},{speed!r}")
    assert (hour.instant, hour.wind_from_deg, hour.speed_mps) == (instant, direction, speed)
