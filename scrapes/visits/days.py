"""A property's local days as instants, with their distance from the peak and shooting light."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from properties.land.models import Property
from properties.sessions.dated_light import SettingsByDay
from properties.sessions.local_time import local_day
from properties.sessions.queries import place_of, settings_by_day_of
from properties.sessions.sun import sun_days
from properties.sessions.windows import shooting_light
from scrapes.visits.effort import Spans, union
from scrapes.visits.season_curve import days_from_peak

Integers = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class LocalDays:
    """Days from ``first_on`` to ``last_on``; ``edge_s`` has shape (days + 1,), UTC seconds.

    ``from_peak`` has shape (days,), negative before the peak of breeding. ``light`` is the
    shooting light that the property's settings allow; no statement of law.
    """

    first_on: date
    last_on: date
    zone: ZoneInfo
    edge_s: Integers
    from_peak: Floats
    light: Spans

    def __len__(self) -> int:
        return len(self.from_peak)

    def index_of(self, on: date) -> int:
        return (on - self.first_on).days

    def date_of(self, index: int) -> date:
        return self.first_on + timedelta(days=index)

    def index_at(self, instant_s: int) -> int:
        """The day in which an instant lies, clipped to the days there are."""
        index = int(np.searchsorted(self.edge_s, instant_s, side="right")) - 1
        return min(max(index, 0), len(self) - 1)

    def span_s(self, first: int, after: int) -> tuple[int, int]:
        """Begin of day ``first`` and of day ``after``."""
        return int(self.edge_s[first]), int(self.edge_s[after])


def local_days_of(
    lands: Sequence[Property], *, first_on: date, last_on: date
) -> Mapping[UUID, LocalDays]:
    """The days of each property by its id; as many queries for several as for one."""
    settings = settings_by_day_of(lands, first=first_on, last=last_on)
    return {
        land.id: local_days(land, settings[land.id], first_on=first_on, last_on=last_on)
        for land in lands
    }


def local_days(
    land: Property, settings: SettingsByDay, *, first_on: date, last_on: date
) -> LocalDays:
    """The days of a property; raises ValueError for years whose sun is not known."""
    zone = ZoneInfo(land.time_zone)
    dates = [first_on + timedelta(days=number) for number in range((last_on - first_on).days + 1)]
    edges = [local_day(on, zone)[0] for on in [*dates, last_on + timedelta(days=1)]]
    month, day = (int(part) for part in land.peak_of_breeding_reckoned.split("-"))
    light = [
        span
        for sun in sun_days(place_of(land), first_on, last_on)
        if (span := shooting_light(sun, settings.on(sun.local_date))) is not None
    ]
    return LocalDays(
        first_on=first_on,
        last_on=last_on,
        zone=zone,
        edge_s=np.array([_seconds(edge) for edge in edges], dtype=np.int64),
        from_peak=days_from_peak(
            np.array(dates, dtype="datetime64[D]"), peak_month=month, peak_day=day
        ),
        light=union(
            [_seconds(span.begins_at) for span in light], [_seconds(span.ends_at) for span in light]
        ),
    )


def _seconds(instant: datetime) -> int:
    return int(instant.timestamp())
