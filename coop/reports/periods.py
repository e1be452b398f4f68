"""A report's month as local dates and as instants."""

import calendar
import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from properties.sessions.local_time import local_date_of, local_day

_MONTH = re.compile(r"^(\d{4})-(0[1-9]|1[0-2])$")


@dataclass(frozen=True, kw_only=True)
class Period:
    """A calendar month of a property; ``starts_at`` up to, not including, ``ends_at``."""

    first_on: date
    last_on: date
    starts_at: datetime
    ends_at: datetime
    zone: ZoneInfo

    def finished(self, now: datetime) -> bool:
        return now >= self.ends_at

    def cut_off(self, now: datetime) -> datetime:
        """The last instant of the month about which anything can be known."""
        return min(now, self.ends_at)


def period_of(month: date, time_zone: str) -> Period:
    """The month in which ``month`` lies, by the clocks of ``time_zone``."""
    first = month.replace(day=1)
    last = first.replace(day=calendar.monthrange(first.year, first.month)[1])
    zone = ZoneInfo(time_zone)
    return Period(
        first_on=first,
        last_on=last,
        starts_at=local_day(first, zone)[0],
        ends_at=local_day(last, zone)[1],
        zone=zone,
    )


def month_of(text: str) -> date:
    """The first day of a month written as ``2025-10``; raises ValueError for anything else."""
    match = _MONTH.match(text)
    if match is None:
        raise ValueError(f"“{text}” is no month; write it as 2025-10")
    return date(int(match[1]), int(match[2]), 1)


def month_before(now: datetime, time_zone: str) -> date:
    """The first day of the last month that is over, by the clocks of ``time_zone``."""
    today = local_date_of(now, ZoneInfo(time_zone))
    return (today.replace(day=1) - timedelta(days=1)).replace(day=1)
