"""Hours of weather told over HTTP: what cannot be is refused, with every fault of it."""

import pytest

from properties.wind.models import ForecastIssue, ObservedHour

GOOD = {"starts_at": "2025-11-01T10:00:00Z", "wind_from_deg": 270, "speed_mps": 3}
IMPOSSIBLE = {"starts_at": "2025-11-01T09:00:00Z", "wind_from_deg": 700, "speed_mps": -1}


def told(cast, path, hours):
    body = {"property": str(cast.north.id), "source": "own", "hours": hours}
    return cast.client(cast.manager).post(f"/api/v1/{path}/", body, format="json")


@pytest.mark.parametrize("path", ["observed-hours", "forecasts"])
def test_hours_of_which_none_can_be_used_are_refused_with_every_fault(cast, path):
    answer = told(cast, path, [IMPOSSIBLE])

    assert answer.status_code == 400, answer.content
    (error,) = answer.json()["errors"]
    assert error["pointer"] == "#/hours/0"
    assert "direction 700" in error["detail"]
    assert "speed -1" in error["detail"]
    assert not ObservedHour.objects.exists()
    assert not ForecastIssue.objects.exists()


@pytest.mark.parametrize("path", ["observed-hours", "forecasts"])
def test_no_hours_at_all_are_refused(cast, path):
    answer = told(cast, path, [])

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "#/hours"


def test_beside_an_hour_that_can_be_used_another_is_left_out_with_every_fault(cast):
    answer = told(cast, "observed-hours", [GOOD, IMPOSSIBLE])

    assert (answer.status_code, answer.json()["taken"]) == (201, 1)
    (skipped,) = answer.json()["skipped"]
    assert skipped["place"] == "#/hours/1"
    assert "direction 700" in skipped["reason"]
    assert "speed -1" in skipped["reason"]
