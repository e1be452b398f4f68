"""Weeks of ISO 8601, and on which day a piece of work falls: pure, local dates alone.

A week begins on Monday and is written ``2025-W45``. A season's year begins in a month that the
property's settings name; all of one autumn and winter lies within one.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from properties.land.years import day_in_year, year_of

_WEEK = re.compile(r"^(\d{4})-W(\d{2})$")


class Anchor(StrEnum):
    """What a template hangs on."""

    PEAK = "peak"
    SEASON_OPENS = "season_opens"
    SEASON_CLOSES = "season_closes"
    DAY = "day"


@dataclass(frozen=True, kw_only=True)
class Span:
    """The first and last day of a season as entered."""

    first_on: date
    last_on: date


def monday_of(text: str) -> date:
    """The Monday of a week written as ``2025-W45``; raises ValueError for anything else."""
    match = _WEEK.match(text)
    if match is None:
        raise ValueError(f"“{text}” is no week; write it as 2025-W45")
    return date.fromisocalendar(int(match[1]), int(match[2]), 1)


def week_on(day: date) -> date:
    """The Monday of the week in which a day lies."""
    return day - timedelta(days=day.weekday())


def week_name(day: date) -> str:
    """The ISO week in which a day lies, as ``2025-W45``."""
    year, week, _weekday = day.isocalendar()
    return f"{year:04}-W{week:02}"


def anchored_on(
    anchor: Anchor,
    *,
    season_year: int,
    first_month: int,
    peaks: Sequence[date],
    seasons: Iterable[Span],
    month_day: str = "",
) -> date | None:
    """The day of an anchor in a season's year; None where nothing says when it is.

    ``peaks`` are candidates of neighbouring calendar years, of which the one within the
    season's year is taken. Several seasons open with the first and close with the last.
    """

    def within(day: date) -> bool:
        return year_of(day, first_month=first_month) == season_year

    if anchor is Anchor.DAY:
        return day_in_year(month_day, season_year, first_month=first_month)
    if anchor is Anchor.PEAK:
        return next((day for day in peaks if within(day)), None)
    mine = [span for span in seasons if within(span.first_on)]
    if not mine:
        return None
    if anchor is Anchor.SEASON_OPENS:
        return min(span.first_on for span in mine)
    return max(span.last_on for span in mine)
