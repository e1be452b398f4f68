"""The year of a harvest plan: from one month's first to the next year's, by the property."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.years import first_day_of, year_of
from properties.sessions.local_time import local_day
from scheduling.sits.limits_queries import sit_settings_of


def season_year_of(instant: datetime, land: Property) -> int:
    """The calendar year in which the season's year holding ``instant`` begins, locally."""
    day = local_date_on(land, instant)
    return year_of(day, first_month=sit_settings_of(land).season_year_first_month)


def season_year_days(year: int, land: Property) -> tuple[date, date]:
    """First local day of a season's year and of the next one."""
    first_month = sit_settings_of(land).season_year_first_month
    return (
        first_day_of(year, first_month=first_month),
        first_day_of(year + 1, first_month=first_month),
    )


def season_year_span(year: int, land: Property) -> tuple[datetime, datetime]:
    """First instant of a season's year and of the next one, by the property's calendar."""
    zone = ZoneInfo(land.time_zone)
    begins, ends = season_year_days(year, land)
    return local_day(begins, zone)[0], local_day(ends, zone)[0]
