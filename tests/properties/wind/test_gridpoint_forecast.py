"""Reading the government's gridpoint forecast: inputs of our own in the documented shape."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.wind.gridpoint_forecast import (
    GridCell,
    UnreadableForecast,
    read_gridpoint_forecast,
)
from properties.wind.weather_hours import (
    PlausibleWeather,
    Skipped,
    WeatherHour,
    WeatherImport,
    weather_hour,
)

NOON = datetime(2026, 11, 7, 12, tzinfo=UTC)


def layer(*values, uom=None):
    entries = [{"validTime": span, "value": value} for span, value in values]
    return {"values": entries} | ({"uom": uom} if uom else {})


def degrees(*values):
    return layer(*values, uom="wmoUnit:degree_(angle)")


def kilometres_per_hour(*values):
    return layer(*values, uom="wmoUnit:km_h-1")


def at(hour, duration="PT1H", day=7):
    return f"2026-11-{day:02d}T{hour:02d}:00:00+00:00/{duration}"


def document(**layers):
    wind = {
        "windDirection": degrees((at(12, "PT3H"), 270)),
        "windSpeed": kilometres_per_hour((at(12, "PT3H"), 18.52)),
    }
    named = {"updateTime": "2026-11-07T10:30:00+00:00", "gridId": "ABC", "gridX": 12, "gridY": 34}
    return {"type": "Feature", "properties": named | wind | layers}


def hours_of(**layers):
    return {hour.instant: hour for hour in read_gridpoint_forecast(document(**layers)).hours}


def test_one_interval_becomes_one_hour_for_each_hour_it_covers():
    forecast = read_gridpoint_forecast(json.dumps(document()).encode())

    assert [hour.instant for hour in forecast.hours] == [
        NOON,
        NOON + timedelta(hours=1),
        NOON + timedelta(hours=2),
    ]
    assert {hour.wind_from_deg for hour in forecast.hours} == {270}
    # 18.52 km/h is 10 knots of 1852 m in an hour, by definition of the nautical mile.
    assert [hour.speed_mps for hour in forecast.hours] == pytest.approx([10 * 1852 / 3600] * 3)
    assert forecast.issued_at == datetime(2026, 11, 7, 10, 30, tzinfo=UTC)
    assert forecast.cell == GridCell("ABC", 12, 34)
    assert forecast.reconciliation == "3 read = 3 taken + 0 skipped"


@pytest.mark.parametrize(
    ("duration", "hours"),
    [("PT1H", 1), ("PT6H", 6), ("P1D", 24), ("P1DT6H", 30), ("P7D", 168), ("P7DT13H", 181)],
)
def test_durations_are_read_as_iso_8601(duration, hours):
    found = hours_of(windDirection=degrees((at(0, duration), 10)), windSpeed=layer())
    assert len(found) == hours
    assert max(found) == datetime(2026, 11, 7, tzinfo=UTC) + timedelta(hours=hours - 1)


@pytest.mark.parametrize("duration", ["P1M", "P1Y", "PT0H", "P", "PT", "-PT1H", "PT1.5H", "1H", ""])
def test_a_duration_without_fixed_positive_length_is_refused(duration):
    with pytest.raises(UnreadableForecast) as refused:
        hours_of(windSpeed=kilometres_per_hour((at(12, duration), 3)))
    assert refused.value.pointer == "/properties/windSpeed/values/0/validTime"


def test_offsets_other_than_utc_are_turned_into_utc():
    found = hours_of(
        windDirection=degrees(("2026-11-07T06:00:00-06:00/PT1H", 90)),
        windSpeed=layer(),
    )
    assert list(found) == [NOON]


def test_what_a_layer_does_not_cover_is_unknown_and_not_nought():
    found = hours_of(
        skyCover=layer((at(13, "PT4H"), 50), uom="wmoUnit:percent"),
        windGust=kilometres_per_hour((at(12), 36)),
    )

    assert found[NOON].cloud_fraction is None
    assert found[NOON].gust_mps == pytest.approx(10)
    assert found[NOON + timedelta(hours=1)].gust_mps is None
    evening = found[NOON + timedelta(hours=4)]
    assert (evening.wind_from_deg, evening.speed_mps, evening.cloud_fraction) == (None, None, 0.5)


def test_a_gap_inside_a_layer_is_unknown():
    found = hours_of(windDirection=degrees((at(12), 270), (at(14), 290)))
    assert [hour.wind_from_deg for hour in found.values()] == [270, None, 290]


def test_where_intervals_overlap_the_later_entry_wins():
    found = hours_of(windDirection=degrees((at(12, "PT3H"), 270), (at(13), 100)))
    assert [hour.wind_from_deg for hour in found.values()] == [270, 100, 270]


def test_a_null_takes_back_what_an_earlier_entry_said():
    found = hours_of(windDirection=degrees((at(12, "PT3H"), 270), (at(13), None)))
    assert [hour.wind_from_deg for hour in found.values()] == [270, None, 270]


def test_rain_is_shared_over_its_interval_and_not_repeated():
    found = hours_of(quantitativePrecipitation=layer((at(12, "PT3H"), 6), uom="wmoUnit:mm"))
    assert [hour.precipitation_mm for hour in found.values()] == pytest.approx([2, 2, 2])


def test_rain_known_for_half_an_hour_leaves_the_hour_unknown():
    half = "2026-11-07T12:30:00+00:00/PT90M"
    found = hours_of(quantitativePrecipitation=layer((half, 3), uom="wmoUnit:mm"))
    assert found[NOON].precipitation_mm is None
    assert found[NOON + timedelta(hours=1)].precipitation_mm == pytest.approx(2)


@given(
    lengths=st.lists(st.integers(1, 30), min_size=1, max_size=8),
    amounts=st.lists(st.floats(0, 40), min_size=8, max_size=8),
)
def test_all_the_rain_of_the_document_falls_once(lengths, amounts):
    start, entries = NOON, []
    for length, amount in zip(lengths, amounts, strict=False):
        entries.append((f"{start.isoformat()}/PT{length}H", amount))
        start += timedelta(hours=length)
    found = hours_of(quantitativePrecipitation=layer(*entries, uom="wmoUnit:mm"))
    fallen = sum(hour.precipitation_mm or 0 for hour in found.values())
    assert fallen == pytest.approx(sum(amounts[: len(lengths)]))


def test_at_calm_the_direction_that_the_grid_still_carries_is_dropped():
    found = hours_of(windSpeed=kilometres_per_hour((at(12, "PT3H"), 0)))
    assert all(hour.calm and hour.wind_from_deg is None for hour in found.values())


def test_north_is_360_however_it_was_written():
    found = hours_of(windDirection=degrees((at(12), 0), (at(13), 360)))
    assert [hour.wind_from_deg for hour in found.values()] == [360, 360, None]


@pytest.mark.parametrize(
    ("unit", "value", "speed_mps"),
    [
        ("wmoUnit:km_h-1", 36, 10),
        ("unit:km_h-1", 36, 10),
        ("unit:m_s-1", 10, 10),
        ("wmoUnit:m_s-1", 10, 10),
        ("wmoUnit:kt", 10, 5.14444),  # 1 kt = 0.514444 m/s (metar.md's table, 1852 m/h)
        ("nwsUnit:mi_h-1", 10, 4.4704),  # the international mile, 1609.344 m
        ("https://codes.wmo.int/common/unit/m_s-1", 10, 10),
    ],
)
def test_speed_is_converted_by_the_unit_that_stands_beside_the_layer(unit, value, speed_mps):
    found = hours_of(windSpeed=layer((at(12), value), uom=unit))
    assert found[NOON].speed_mps == pytest.approx(speed_mps, rel=1e-5)


def test_the_unit_may_stand_under_unit_code():
    speeds = layer((at(12), 36)) | {"unitCode": "unit:km_h-1"}
    assert hours_of(windSpeed=speeds)[NOON].speed_mps == pytest.approx(10)


def test_temperatures_in_fahrenheit_are_converted():
    found = hours_of(temperature=layer((at(12), 50), uom="wmoUnit:degF"))
    assert found[NOON].temperature_c == pytest.approx(10)


@pytest.mark.parametrize("unit", ["wmoUnit:furlong_fortnight-1", "", None])
def test_an_unknown_unit_is_an_error_that_names_the_layer(unit):
    with pytest.raises(UnreadableForecast, match="unit") as refused:
        hours_of(windSpeed=layer((at(12), 3), uom=unit))
    assert refused.value.pointer == "/properties/windSpeed/uom"


def test_an_empty_layer_needs_no_unit():
    found = hours_of(windGust=layer(), temperature={})
    assert [hour.gust_mps for hour in found.values()] == [None] * 3


def test_old_answers_write_the_cell_as_text():
    old = document(gridX="70", gridY="82")
    assert read_gridpoint_forecast(old).cell == GridCell("ABC", 70, 82)


@pytest.mark.parametrize(
    ("wrong", "pointer"),
    [
        ({"gridX": "7 0"}, "/properties/gridX"),
        ({"gridX": True}, "/properties/gridX"),
        ({"gridY": -1}, "/properties/gridY"),
        ({"gridId": "../x"}, "/properties/gridId"),
        ({"updateTime": "yesterday"}, "/properties/updateTime"),
        ({"updateTime": "2026-11-07T10:30:00"}, "/properties/updateTime"),
        ({"windSpeed": []}, "/properties/windSpeed"),
        ({"windSpeed": {"values": {}}}, "/properties/windSpeed/values"),
        ({"windSpeed": {"uom": "unit:kt", "values": [7]}}, "/properties/windSpeed/values/0"),
        ({"windSpeed": kilometres_per_hour((7, 7))}, "/properties/windSpeed/values/0/validTime"),
        (
            {"windSpeed": kilometres_per_hour(("0001-01-01T00:00:00+14:00/P7D", 7))},
            "/properties/windSpeed/values/0/validTime",
        ),
        (
            {"windSpeed": kilometres_per_hour((at(12), 7), (at(13), "7"))},
            "/properties/windSpeed/values/1/value",
        ),
        (
            {"windSpeed": kilometres_per_hour((at(12), True))},
            "/properties/windSpeed/values/0/value",
        ),
        (
            {"windSpeed": kilometres_per_hour((at(12), float("nan")))},
            "/properties/windSpeed/values/0/value",
        ),
        (
            {"windSpeed": kilometres_per_hour((at(12), 10**400))},
            "/properties/windSpeed/values/0/value",
        ),
        ({"windGust": kilometres_per_hour(("2027-11-07T12:00:00Z/PT1H", 7))}, "/properties"),
    ],
)
def test_a_broken_part_is_named_by_its_pointer(wrong, pointer):
    with pytest.raises(UnreadableForecast) as refused:
        read_gridpoint_forecast(document(**wrong))
    assert refused.value.pointer == pointer


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (
            {"title": "Not Found", "detail": "No such grid", "status": 404},
            "Not Found: No such grid",
        ),
        ({"properties": {"periods": []}}, "text forecast"),
        ({"properties": {"forecastGridData": "…", "gridId": "ABC"}}, "where the forecast is"),
        ({"properties": {"windSpeed": {"values": []}}}, "not a gridpoint forecast"),
        ({"properties": 7}, "not an object"),
        ({}, "missing"),
    ],
)
def test_another_answer_of_the_service_is_told_apart(wrong, words):
    with pytest.raises(UnreadableForecast, match=words):
        read_gridpoint_forecast(json.dumps(wrong).encode())


@pytest.mark.parametrize(
    "wrong",
    [
        b"",
        b"<html>",
        b"[1]",
        b"null",
        b"\xff\xfe{\x00}\x00",
        b"[" * 100_000,
        b'{"a":' * 5_000,
        b'{"properties": NaN}',
        b'{"properties": 1e999}',
    ],
)
def test_what_is_not_a_json_object_is_refused(wrong):
    with pytest.raises(UnreadableForecast) as refused:
        read_gridpoint_forecast(wrong)
    assert refused.value.pointer == ""


def test_a_document_over_the_size_limit_is_refused_before_it_is_parsed():
    with pytest.raises(UnreadableForecast, match="more than the 100 allowed"):
        read_gridpoint_forecast(b" " * 101, max_bytes=100)


def test_a_forecast_without_any_wind_is_refused():
    with pytest.raises(UnreadableForecast, match="no wind"):
        hours_of(windDirection=layer(), windSpeed=layer())


def test_an_impossible_hour_is_skipped_and_accounted_for():
    gale = kilometres_per_hour((at(12), 18), (at(13), 1000), (at(14), 18))
    forecast = read_gridpoint_forecast(document(windSpeed=gale))

    assert (forecast.read, len(forecast.hours)) == (3, 2)
    assert forecast.places_by_code == {"impossible_speed": ("/properties/windSpeed",)}
    assert "2026-11-07T13:00Z" in forecast.skipped[0].reason


def test_the_fastest_wind_believed_is_a_setting():
    breeze = document()
    assert len(read_gridpoint_forecast(breeze).hours) == 3
    timid = PlausibleWeather(max_speed_mps=5)
    assert len(read_gridpoint_forecast(breeze, bounds=timid).skipped) == 3


@pytest.mark.parametrize(
    "wrong",
    [
        {"wind_from_deg": 361.0},
        {"wind_from_deg": -1.0},
        {"speed_mps": -0.1},
        {"speed_mps": float("inf")},
        {"gust_mps": float("nan")},
        {"temperature_c": -274.0},
        {"cloud_fraction": 1.01},
        {"precipitation_mm": -1.0},
        {"precipitation_chance": 40.0},
    ],
)
def test_no_hour_is_built_from_an_impossible_value(wrong):
    possible = {"wind_from_deg": 90.0, "speed_mps": 3.0}
    with pytest.raises(ValueError, match=r"outside|finite"):
        weather_hour(instant=NOON, source="test", **possible | wrong)


def test_an_hour_knows_no_local_time():
    with pytest.raises(ValueError, match="UTC"):
        WeatherHour(
            instant=NOON.replace(tzinfo=None), wind_from_deg=None, speed_mps=None, source="test"
        )


def test_calm_and_variable_hours_cannot_carry_a_direction():
    for state in ({"speed_mps": 0.0}, {"speed_mps": 2.0, "variable": True}):
        with pytest.raises(ValueError, match="no direction"):
            WeatherHour(instant=NOON, wind_from_deg=90.0, source="test", **state)


def test_an_import_that_does_not_add_up_cannot_be_built():
    lost = Skipped(place=3, code="malformed_wind", reason="…")
    with pytest.raises(ValueError, match="3 read, but 0 taken and 1 skipped"):
        WeatherImport(hours=(), skipped=(lost,), read=3)


def test_a_reconciliation_says_where_each_reason_struck():
    skipped = [
        Skipped(place=3, code="malformed_wind", reason="…"),
        Skipped(place=9, code="malformed_time", reason="…"),
        Skipped(place=12, code="malformed_wind", reason="…"),
    ]
    outcome = WeatherImport(hours=(), skipped=tuple(skipped), read=3)
    assert outcome.reconciliation == (
        "3 read = 0 taken + 3 skipped: malformed wind 2 (at 3, 12); malformed time 1 (at 9)"
    )
