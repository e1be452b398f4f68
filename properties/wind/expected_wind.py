"""The wind of an hour gone by, as it was observed or else as it had been forecast."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from uuid import UUID

import numpy as np

from properties.land.models import Property
from properties.wind.columns import WeatherColumns
from properties.wind.models import ForecastIssue
from properties.wind.observed_columns import nearest_hour
from properties.wind.settings import WindSettings
from properties.wind.stand_wind_queries import observed_columns
from properties.wind.wander import forecast_error_deg

_HOUR = timedelta(hours=1)


class WindSource(StrEnum):
    OBSERVED = "observed"
    FORECAST = "forecast"


@dataclass(frozen=True, kw_only=True)
class ExpectedWind:
    """Wind at one instant; ``from_deg`` is None where it had no direction to name."""

    from_deg: float | None
    speed_mps: float
    source: WindSource
    error_deg: float


def expected_winds(
    land: Property,
    instants: Sequence[datetime],
    *,
    observation_error_deg: float,
    settings: WindSettings,
) -> list[ExpectedWind | None]:
    """Wind at instants, in their order; None where neither observed nor forecast.

    An observation at most half an hour away goes before the forecast known at that instant.
    """
    if not instants:
        return []
    observed = observed_columns(land, since=min(instants) - _HOUR, until=max(instants) + _HOUR)
    issues = _known_issues(land, instants)
    return [
        _observed(observed, instant, observation_error_deg)
        or (_forecast(*issues[instant], instant, settings) if instant in issues else None)
        for instant in instants
    ]


def _observed(columns: WeatherColumns, instant: datetime, error_deg: float) -> ExpectedWind | None:
    return _wind(columns, nearest_hour(instant), source=WindSource.OBSERVED, error_deg=error_deg)


def _forecast(
    columns: WeatherColumns, issued_at: datetime, instant: datetime, settings: WindSettings
) -> ExpectedWind | None:
    hour = instant.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    lead_hours = max(0.0, (instant - issued_at) / _HOUR)
    error_deg = float(forecast_error_deg(lead_hours, settings=settings))
    return _wind(columns, hour, source=WindSource.FORECAST, error_deg=error_deg)


def _wind(
    columns: WeatherColumns, hour: datetime, *, source: WindSource, error_deg: float
) -> ExpectedWind | None:
    found = columns.at([hour])
    speed, direction = float(found["speed_mps"][0]), float(found["wind_from_deg"][0])
    if not np.isfinite(speed):
        return None
    from_deg = direction if np.isfinite(direction) else None
    return ExpectedWind(from_deg=from_deg, speed_mps=speed, source=source, error_deg=error_deg)


def _known_issues(
    land: Property, instants: Sequence[datetime]
) -> dict[datetime, tuple[WeatherColumns, datetime]]:
    """The newest issue received by each instant; its hours are read once for many instants."""
    known = list(
        ForecastIssue.objects.filter(property=land, received_at__lte=max(instants))
        .order_by("issued_at", "received_at")
        .values_list("id", "issued_at", "received_at")
    )
    chosen: dict[datetime, tuple[UUID, datetime]] = {}
    for instant in set(instants):
        received = [(key, issued) for key, issued, at in known if at <= instant]
        if received:
            chosen[instant] = received[-1]
    rows = ForecastIssue.objects.in_bulk({key for key, _issued in chosen.values()})
    columns = {key: WeatherColumns.of_json(row.hours) for key, row in rows.items()}
    return {instant: (columns[key], issued) for instant, (key, issued) in chosen.items()}
