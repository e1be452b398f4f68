"""Years: those that begin in a month of their own, as seasons' do, those that may be entered and
asked about, and those that can be meant.

A year is named by the calendar year in which it begins.
"""

import re
from datetime import date

FIRST_YEAR, LAST_YEAR = 2000, 2100
"""Calendar years that may be entered and asked about. Common practice, no source."""
OUTSIDE_YEARS = f"Must lie between the years {FIRST_YEAR} and {LAST_YEAR}."

_MONTH_DAY = re.compile(r"[0-9]{2}-[0-9]{2}")


def year_of(day: date, *, first_month: int) -> int:
    """The year in which ``day`` lies: the calendar year in which it began."""
    return day.year if day.month >= first_month else day.year - 1


def first_day_of(year: int, *, first_month: int) -> date:
    """The day on which such a year begins."""
    return date(year, first_month, 1)


def checked_month_day(text: str) -> str:
    """``MM-DD`` of a day that every year has; raises ValueError for anything else."""
    # fromisoformat() alone would take a week, such as W10, as well.
    if _MONTH_DAY.fullmatch(text) is None:
        raise ValueError(f"“{text}” is no day of the year; write it as 08-15")
    try:
        date.fromisoformat(f"2001-{text}")  # a common year
    except ValueError:
        raise ValueError(f"“{text}” is no day that every year has; write it as 08-15") from None
    return text


def day_in_year(month_day: str, year: int, *, first_month: int) -> date:
    """The day ``MM-DD`` in a year that begins in ``first_month``."""
    month, day = (int(part) for part in month_day.split("-"))
    return date(year if month >= first_month else year + 1, month, day)


def is_within_years(day: date) -> bool:
    """Whether a day lies in the years that may be entered and asked about."""
    return FIRST_YEAR <= day.year <= LAST_YEAR


def can_be_meant(year: int) -> bool:
    """Whether a calendar year in a file can be meant.

    Years at the calendar's ends leave no room to change an offset or to add a duration.
    """
    return 1900 < year < 2200
