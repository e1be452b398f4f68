"""A forecast that reaches the stage's days."""

from datetime import timedelta
from typing import Any

from coop.access.actors import system_actor
from properties.wind.services import store_forecast
from properties.wind.weather_hours import WeatherImport, weather_hour
from tests.cast import NOW

HOURS = 240


def forecast_comes(land: Any, wind_from_deg: float) -> None:
    """Store ten days of one wind as a new forecast."""
    hours = tuple(
        weather_hour(
            instant=NOW + timedelta(hours=number),
            wind_from_deg=wind_from_deg,
            speed_mps=4.0,
            cloud_fraction=0.2,
            source="test",
        )
        for number in range(HOURS)
    )
    store_forecast(
        actor=system_actor("test"),
        land=land,
        found=WeatherImport(hours=hours, skipped=(), read=HOURS, issued_at=NOW),
        source="test",
        now=NOW,
    )
