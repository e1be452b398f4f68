"""Dates and times by a property's own calendar and clock."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from properties.land.models import Property


def local_date_on(land: Property, instant: datetime) -> date:
    """The date that the calendars of a property show at ``instant`` (aware)."""
    return instant.astimezone(ZoneInfo(land.time_zone)).date()


def shown_clock_on(land: Property, instant: datetime) -> str:
    """An instant (aware) as the clocks of a property show it: “08 Nov 2025 16:30 CST”."""
    return f"{instant.astimezone(ZoneInfo(land.time_zone)):%d %b %Y %H:%M %Z}"
