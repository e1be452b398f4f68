"""Dates by a property's own calendar."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from properties.land.models import Property


def local_date_on(land: Property, instant: datetime) -> date:
    """The date that the calendars of a property show at ``instant`` (aware)."""
    return instant.astimezone(ZoneInfo(land.time_zone)).date()
