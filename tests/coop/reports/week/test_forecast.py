"""A session's hours of forecast in one line."""

from datetime import UTC, datetime, timedelta

import pytest

from coop.reports.week.forecast import session_weather

START = datetime(2025, 11, 8, 20, tzinfo=UTC)


def weather(**columns):
    count = max(len(values) for values in columns.values())
    hours = {
        "starts_at": [(START + timedelta(hours=hour)).isoformat() for hour in range(count)],
        **columns,
    }
    return session_weather(hours, starts_at=START, ends_at=START + timedelta(hours=3))


def test_the_wind_is_the_mean_vector_over_north():
    told = weather(wind_from_deg=[350, 10, 0], speed_mps=[3.0, 3.0, 3.0], gust_mps=[5, 9, 7])

    assert told.wind_from_deg == pytest.approx(0, abs=1)
    assert (told.sector, told.speed_mps, told.gust_mps) == ("N", 3.0, 9.0)


def test_stronger_hours_weigh_more():
    told = weather(wind_from_deg=[180, 270], speed_mps=[9.0, 1.0])

    assert told.sector == "S"
    assert 180 < told.wind_from_deg < 190


def test_a_wind_that_turns_right_round_has_no_direction_but_a_speed():
    told = weather(wind_from_deg=[0, 180], speed_mps=[4.0, 4.0])

    assert (told.wind_from_deg, told.sector, told.speed_mps) == (None, "", 4.0)


def test_rain_adds_up_and_its_chance_is_the_highest():
    told = weather(precipitation_mm=[0.5, None, 1.0], precipitation_chance=[0.2, 0.7, 0.1])

    assert (told.precipitation_mm, told.precipitation_chance) == (1.5, 0.7)
    assert told.speed_mps is None


def test_only_hours_of_the_session_count():
    told = weather(speed_mps=[1.0, 1.0, 1.0, 50.0], wind_from_deg=[90, 90, 90, 270])

    assert (told.sector, told.speed_mps) == ("E", 1.0)
    assert weather(speed_mps=[]).speed_mps is None
    assert session_weather({}, starts_at=START, ends_at=START).speed_mps is None
