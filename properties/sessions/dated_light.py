"""Hunting light that somebody entered for some dates, laid over a property's usual settings."""

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from uuid import UUID

from properties.sessions.settings import SessionSettings


@dataclass(frozen=True, kw_only=True)
class DatedLight:
    """Hunting light from ``first_on`` to ``last_on`` (None: no end), local dates, both included."""

    property_id: UUID
    first_on: date
    last_on: date | None
    before_sunrise_min: float
    after_sunset_min: float

    def covers(self, on: date) -> bool:
        return self.first_on <= on and (self.last_on is None or on <= self.last_on)


LightSource = Callable[[Collection[UUID], date, date], Iterable[DatedLight]]
"""What holds on properties, by their ids, on some of the local dates, both included."""


@dataclass(frozen=True, kw_only=True)
class Span:
    """Dates in a row, both included, under the same settings."""

    first_on: date
    last_on: date
    settings: SessionSettings


@dataclass(frozen=True, kw_only=True)
class SettingsByDay:
    """The usual settings, and the light entered by date that goes before them."""

    usual: SessionSettings
    lights: tuple[DatedLight, ...] = ()

    def on(self, day: date) -> SessionSettings:
        for light in self.lights:
            if light.covers(day):
                return replace(
                    self.usual,
                    shooting_light_before_sunrise_min=light.before_sunrise_min,
                    shooting_light_after_sunset_min=light.after_sunset_min,
                )
        return self.usual

    def spans(self, *, first: date, last: date) -> Iterator[Span]:
        """The dates from ``first`` to ``last`` in order, cut where the settings change."""
        begins = first
        for cut in (*self._cuts(first, last), last + timedelta(days=1)):
            ends = cut - timedelta(days=1)
            yield Span(first_on=begins, last_on=ends, settings=self.on(begins))
            begins = cut

    def _cuts(self, first: date, last: date) -> list[date]:
        """First days, after the first of all, on which other settings may hold."""
        days = {light.first_on for light in self.lights}
        days |= {light.last_on + timedelta(days=1) for light in self.lights if light.last_on}
        return sorted(day for day in days if first < day <= last)
