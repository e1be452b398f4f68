"""Observations at any minute, of one or more sources, as one column of whole hours."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from properties.wind.columns import WeatherColumns
from properties.wind.weather_hours import WeatherHour

_HOUR = timedelta(hours=1)


def nearest_hour(instant: datetime) -> datetime:
    """The whole UTC hour nearest to an instant; half past belongs to the next."""
    later = instant.astimezone(UTC) + _HOUR / 2
    return later.replace(minute=0, second=0, microsecond=0)


def whole_hours(observed: Iterable[WeatherHour]) -> WeatherColumns:
    """Observations laid on the whole hours nearest to them.

    Of several for one hour one with a wind goes before one without, then the nearest in
    time, then by the name of its source, so that the order given does not matter.
    """
    best: dict[datetime, tuple[tuple[bool, timedelta, str], WeatherHour]] = {}
    for hour in observed:
        whole = nearest_hour(hour.instant)
        rank = (hour.speed_mps is None, abs(hour.instant - whole), hour.source)
        if whole not in best or rank < best[whole][0]:
            best[whole] = (rank, replace(hour, instant=whole))
    return WeatherColumns.of_hours(hour for _rank, hour in best.values())
