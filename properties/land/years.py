"""Years that begin in a month of their own, as seasons' do, named by the year they begin in."""

from datetime import date


def year_of(day: date, *, first_month: int) -> int:
    """The year in which ``day`` lies: the calendar year in which it began."""
    return day.year if day.month >= first_month else day.year - 1


def first_day_of(year: int, *, first_month: int) -> date:
    """The day on which such a year begins."""
    return date(year, first_month, 1)
