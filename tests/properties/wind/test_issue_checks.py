"""A fetched forecast of another place, of the past or of the future is not taken."""

from dataclasses import replace
from datetime import timedelta

import pytest

from coop.telemetry.metrics import exposition
from properties.wind.gridpoint_document import GridCell, UnreadableForecast
from properties.wind.gridpoint_forecast import GridpointForecast
from properties.wind.issue_checks import check_issue
from properties.wind.models import ForecastIssue
from properties.wind.weather_hours import weather_hour
from tests.cast import NOW

CELL = GridCell("ABC", 12, 34)
HOUR = timedelta(hours=1)


def forecast(first=NOW, **changes) -> GridpointForecast:
    hours = tuple(
        weather_hour(instant=first + number * HOUR, wind_from_deg=270, speed_mps=5, source="test")
        for number in range(3)
    )
    found = GridpointForecast(hours=hours, skipped=(), read=3, issued_at=first, cell=CELL)
    return replace(found, **changes)


@pytest.mark.parametrize(
    "found",
    [forecast(), forecast(cell=None), forecast(issued_at=None), forecast(NOW - 3 * HOUR)],
)
def test_what_was_asked_for_passes(found):
    check_issue(found, asked_for=CELL, now=NOW)


@pytest.mark.parametrize(
    ("found", "pointer"),
    [
        (forecast(cell=GridCell("ABC", 12, 35)), "/properties/gridId"),
        (forecast(issued_at=NOW + 2 * HOUR), "/properties/updateTime"),
        (forecast(NOW - 4 * HOUR), "/properties/windSpeed/values"),
        (forecast(hours=(), read=0), "/properties"),
    ],
)
def test_another_place_the_future_and_the_past_are_refused(found, pointer):
    with pytest.raises(UnreadableForecast) as refused:
        check_issue(found, asked_for=CELL, now=NOW)

    assert refused.value.pointer == pointer


def test_a_collector_is_told_how_old_the_newest_forecast_is(cast):
    for hours in (5, 2):
        ForecastIssue.objects.create(
            property=cast.north,
            fingerprint=f"{hours}",
            source="test",
            issued_at=NOW - hours * HOUR,
            received_at=NOW,
            first_hour_at=NOW,
            last_hour_at=NOW,
            hours={},
        )

    told = exposition(now=NOW).decode()

    assert f'coop_forecast_age_seconds{{property="{cast.north.id}"}} 7200.0' in told
