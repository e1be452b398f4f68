"""Which hour to send somebody: clear of occupied sessions, in daylight hours, least harm."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from properties.wind.visit_hours import VisitHour
from scheduling.errands.settings import ErrandSettings

_HOUR = timedelta(hours=1)


def candidate_hours(
    *, now: datetime, days: int, zone: ZoneInfo, settings: ErrandSettings
) -> list[datetime]:
    """Whole UTC hours from the next one on, within the local hours that the settings allow."""
    first = now.replace(minute=0, second=0, microsecond=0) + _HOUR
    hours = (first + _HOUR * number for number in range(24 * days))
    return [
        hour
        for hour in hours
        if settings.earliest_hour <= hour.astimezone(zone).hour < settings.latest_hour
    ]


def clear_of(
    hours: Iterable[datetime], occupied: Sequence[tuple[datetime, datetime]]
) -> list[datetime]:
    """The hours that touch no occupied time; times are half-open."""
    return [
        hour
        for hour in hours
        if not any(starts_at < hour + _HOUR and ends_at > hour for starts_at, ends_at in occupied)
    ]


def least_harmful(hours: Iterable[VisitHour]) -> VisitHour | None:
    """The hour with the best chance that nobody smells the visitor; the earliest of equals."""
    return min(hours, key=lambda hour: (-round(hour.fit, 3), hour.starts_at), default=None)
