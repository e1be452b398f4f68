"""Days in the year of dues and work days: from its first month to the month before; pure."""

from datetime import date


def day_in_year(month_day: str, year: int, first_month: int) -> date:
    """The date of a day ``MM-DD`` in a year that begins in ``first_month``."""
    month, day = (int(part) for part in month_day.split("-"))
    return date(year if month >= first_month else year + 1, month, day)
