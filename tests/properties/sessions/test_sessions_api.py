"""A property's sessions over HTTP: by its own sun, on its own clock."""

from datetime import datetime, timedelta
from itertools import pairwise

import pytest


def days(client, land, query):
    answer = client.get(f"/api/v1/properties/{land.id}/sessions/{query}")
    assert answer.status_code == 200, answer.data
    return answer.json()["days"]


def sessions(client, land, query):
    return [row for day in days(client, land, query) for row in day["sessions"]]


def test_each_day_has_a_morning_and_an_evening_in_order(cast):
    told = days(cast.client(cast.member), cast.north, "?first_on=2025-11-01&last_on=2025-11-03")

    assert [day["local_date"] for day in told] == ["2025-11-01", "2025-11-02", "2025-11-03"]
    for day in told:
        assert [row["kind"] for row in day["sessions"]] == ["morning", "evening"]
        for row in day["sessions"]:
            instants = [
                datetime.fromisoformat(row[name])
                for name in ("approach_from", "hunt_from", "hunt_until", "exit_until")
            ]
            assert all(before < after for before, after in pairwise(instants))
            assert all(str(instant.date()) == day["local_date"] for instant in instants)


def test_sun_and_shooting_light_lie_around_the_sessions(cast):
    (day,) = days(cast.client(cast.member), cast.north, "?first_on=2025-11-01&last_on=2025-11-01")
    morning, evening = day["sessions"]
    order = [
        morning["approach_from"],
        day["shooting_light_from"],
        day["sunrise"],
        morning["exit_until"],
        day["sunset"],
        evening["exit_until"],
    ]

    instants = [datetime.fromisoformat(instant) for instant in order]
    assert instants == sorted(instants)
    assert day["sunset"] < day["shooting_light_until"] <= evening["exit_until"]


def test_the_offset_changes_with_the_clock_and_not_with_the_sun(cast):
    """Daylight saving time ended on 2 November 2025 in America/Chicago (IANA tz database)."""
    rows = sessions(cast.client(cast.member), cast.north, "?first_on=2025-11-01&last_on=2025-11-02")
    saturday, sunday = (
        datetime.fromisoformat(row["hunt_from"]) for row in rows if row["kind"] == "morning"
    )

    assert (saturday.utcoffset(), sunday.utcoffset()) == (
        timedelta(hours=-5),
        timedelta(hours=-6),
    )
    # Sunrise moves by a minute or so a day; the clock alone moved by an hour.
    assert abs((sunday - saturday) - timedelta(days=1)) < timedelta(minutes=3)


def test_where_the_sun_does_not_rise_the_reason_is_told(cast):
    cast.north.latitude = 75.0
    cast.north.save()
    rows = sessions(cast.client(cast.member), cast.north, "?first_on=2025-12-21&last_on=2025-12-21")

    (day,) = days(cast.client(cast.member), cast.north, "?first_on=2025-12-21&last_on=2025-12-21")

    assert (day["sunrise"], day["shooting_light_from"]) == (None, None)
    assert [row["hunt_from"] for row in rows] == [None, None]
    assert all(row["reason"] for row in rows)


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("?first_on=2025-11-03&last_on=2025-11-01", "?last_on"),
        ("?first_on=2025-01-01&last_on=2025-12-31", "?last_on"),
        ("?first_on=opening-day", "?first_on"),
        ("?first_on=9999-12-31", "?first_on"),
        ("?first_on=2052-01-01", "?first_on"),
        ("?from=2025-11-01", "?from"),
    ],
)
def test_dates_that_mean_nothing_are_an_error(cast, query, pointer):
    answer = cast.client(cast.member).get(f"/api/v1/properties/{cast.north.id}/sessions/{query}")

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == pointer


@pytest.mark.parametrize(
    ("caller", "status"),
    [("landowner", 200), ("member", 200), ("other_member", 404), ("stranger", 404)],
)
def test_sessions_are_told_to_those_who_see_the_property(cast, caller, status):
    url = f"/api/v1/properties/{cast.north.id}/sessions/"

    assert cast.client(getattr(cast, caller)).get(url).status_code == status
    assert cast.application_client().get(url).status_code == 200
