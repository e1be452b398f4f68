"""Seasons as the property's manager entered them, and the peak of breeding.

Dates are the property's local dates, both ends included. No season of any state is built
in: what is lawful is the state's to say.
"""

import calendar
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

# A leap year, so that 29 February can be told from a date that never exists.
_LEAP_YEAR = 2024


class DeerClass(StrEnum):
    """Deer as seasons and harvest plans tell them apart."""

    ANTLERED = "antlered"
    ANTLERLESS = "antlerless"


@dataclass(frozen=True, kw_only=True)
class Season:
    """Dates in which sits are offered and the weapons that the property permits in them.

    Raises ValueError when it ends before it begins.
    """

    name: str
    first_on: date
    last_on: date
    weapons: frozenset[str]

    def __post_init__(self) -> None:
        if self.last_on < self.first_on:
            raise ValueError(f"{self.name} ends on {self.last_on}, before {self.first_on}")

    def covers(self, on: date) -> bool:
        return self.first_on <= on <= self.last_on


def seasons_covering(seasons: Iterable[Season], on: date) -> tuple[Season, ...]:
    """The seasons open on a date, the one that began first leading."""
    open_on = (season for season in seasons if season.covers(on))
    return tuple(sorted(open_on, key=lambda season: (season.first_on, season.name)))


def weapons_permitted(seasons: Iterable[Season], on: date) -> frozenset[str]:
    """Weapons permitted by the property on a date: those of every season open then."""
    return frozenset().union(*(season.weapons for season in seasons_covering(seasons, on)))


@dataclass(frozen=True, kw_only=True)
class BreedingPeak:
    """The date around which most does are bred; everything seasonal hangs on it.

    ``usual`` is month and day as ``MM-DD``; ``by_year`` holds the years in which it is
    known to differ, by the calendar year in which the date lies. Raises ValueError for a
    day that does not exist or an exception filed under another year.
    """

    usual: str
    by_year: Mapping[int, date] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._usual_in(_LEAP_YEAR)
        for year, peak_on in self.by_year.items():
            if peak_on.year != year:
                raise ValueError(f"the peak of breeding {peak_on} is not in {year}")

    def in_year(self, year: int) -> date:
        """The peak in a calendar year; a usual 29 February is the 28th in common years."""
        return self.by_year.get(year) or self._usual_in(year)

    def nearest(self, on: date) -> date:
        """The peak nearest to a date, of whichever year; of two as near, the coming one."""
        peaks = [self.in_year(year) for year in (on.year - 1, on.year, on.year + 1)]
        return min(peaks, key=lambda peak_on: (abs((on - peak_on).days), peak_on < on))

    def days_after(self, on: date) -> int:
        """Days from the nearest peak to ``on``; negative before it."""
        return (on - self.nearest(on)).days

    def _usual_in(self, year: int) -> date:
        try:
            month, day = (int(part) for part in self.usual.split("-"))
            if (month, day) == (2, 29) and not calendar.isleap(year):
                day = 28
            return date(year, month, day)
        except ValueError as problem:
            raise ValueError(f"the peak of breeding “{self.usual}” is no MM-DD") from problem
