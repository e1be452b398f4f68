"""When the sun rises and sets at a place.

Sunrise and sunset are the instants at which the centre of the sun's disk is 50′ below the
horizon: 34′ of refraction and 16′ of semidiameter, as HM Nautical Almanac Office defines
them; civil twilight is at 6° below. The horizon is level: no hills, no height of eye.

A day is the daylight around one solar noon. Its sunset can fall after local midnight, in
high latitudes or where the zone's clock is far from the sun's; it still ends that day.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from functools import lru_cache
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray
from skyfield import almanac

from properties.sessions.ephemeris import check_year, ephemeris
from properties.sessions.place import Place
from properties.sessions.sun_position import sun_positions

FloatArray = NDArray[np.float64]

SUNRISE_ELEVATION_DEG = -50 / 60
CIVIL_TWILIGHT_ELEVATION_DEG = -6.0

# About 100 m, which moves a sunrise by under a second outside the polar regions.
_PLACE_DECIMALS = 3
_CACHED_PLACE_YEARS = 1024


class SunEvent(StrEnum):
    CIVIL_DAWN = "civil_dawn"
    SUNRISE = "sunrise"
    SUNSET = "sunset"
    CIVIL_DUSK = "civil_dusk"


class Absence(StrEnum):
    """Why an event does not happen on a day."""

    SUN_STAYS_BELOW = "sun_stays_below"
    SUN_STAYS_ABOVE = "sun_stays_above"


_IN_WORDS = {
    (SunEvent.CIVIL_DAWN, Absence.SUN_STAYS_BELOW): "the sun stays more than 6° below the horizon",
    (SunEvent.CIVIL_DAWN, Absence.SUN_STAYS_ABOVE): "twilight lasted all night",
    (SunEvent.SUNRISE, Absence.SUN_STAYS_BELOW): "the sun stays below the horizon",
    (SunEvent.SUNRISE, Absence.SUN_STAYS_ABOVE): "the sun did not set the night before",
    (SunEvent.SUNSET, Absence.SUN_STAYS_BELOW): "the sun stays below the horizon",
    (SunEvent.SUNSET, Absence.SUN_STAYS_ABOVE): "the sun does not set",
    (SunEvent.CIVIL_DUSK, Absence.SUN_STAYS_BELOW): "the sun stays more than 6° below the horizon",
    (SunEvent.CIVIL_DUSK, Absence.SUN_STAYS_ABOVE): "twilight lasts all night",
}


@dataclass(frozen=True, kw_only=True)
class SunDay:
    """The sun's instants (UTC, to the second) around one local date's solar noon.

    An event that does not happen is None and its reason stands in ``missing``.
    """

    local_date: date
    solar_noon: datetime
    civil_dawn: datetime | None
    sunrise: datetime | None
    sunset: datetime | None
    civil_dusk: datetime | None
    missing: Mapping[SunEvent, Absence]

    def why_missing(self, event: SunEvent) -> str | None:
        """Why ``event`` does not happen, in words; None if it does."""
        return _IN_WORDS[event, self.missing[event]] if event in self.missing else None


def sun_day(place: Place, local_date: date) -> SunDay:
    """The sun's day at ``place``. Raises ValueError for years the ephemeris does not cover."""
    return _year(
        round(place.latitude_deg, _PLACE_DECIMALS),
        round(place.longitude_deg, _PLACE_DECIMALS),
        place.time_zone,
        local_date.year,
    )[local_date]


def sun_days(place: Place, first: date, last: date) -> Iterator[SunDay]:
    """The sun's days from ``first`` to ``last``, both included."""
    for number in range((last - first).days + 1):
        yield sun_day(place, first + timedelta(days=number))


@lru_cache(maxsize=_CACHED_PLACE_YEARS)
def _year(
    latitude_deg: float, longitude_deg: float, time_zone: str, year: int
) -> Mapping[date, SunDay]:
    """Every local date's sun day; computed once per place and year, in about 0.1 s."""
    check_year(year)
    place = Place(latitude_deg=latitude_deg, longitude_deg=longitude_deg, time_zone=time_zone)
    first, last = date(year, 1, 1), date(year, 12, 31)
    dates = [first + timedelta(days=number) for number in range((last - first).days + 1)]
    clock_noon = np.array(
        [datetime.combine(day, time(12), tzinfo=place.zone).timestamp() for day in dates]
    )
    sky = ephemeris()
    observer = sky.observer(latitude_deg, longitude_deg)
    span = (
        sky.timescale.from_datetime(datetime.combine(first, time(0), UTC) - timedelta(days=3)),
        sky.timescale.from_datetime(datetime.combine(last, time(0), UTC) + timedelta(days=4)),
    )
    noons = _seconds_of(almanac.find_transits(observer, sky.sun, *span))
    today = _nearest(noons, clock_noon)
    day_by_event = {event: _around_noon(event, noons, today, observer, span) for event in SunEvent}
    noon_elevation = sun_positions(
        place, noons[today].round().astype("datetime64[s]")
    ).elevation_deg
    return MappingProxyType(
        {
            day: _sun_day(
                day,
                noons[today[index]],
                float(noon_elevation[index]),
                {event: float(seconds[index]) for event, seconds in day_by_event.items()},
            )
            for index, day in enumerate(dates)
        }
    )


def _around_noon(
    event: SunEvent, noons: FloatArray, today: NDArray[np.intp], observer: Any, span: Any
) -> FloatArray:
    """For each day the POSIX second of ``event``, NaN where it does not happen."""
    rises = event in (SunEvent.SUNRISE, SunEvent.CIVIL_DAWN)
    search = almanac.find_risings if rises else almanac.find_settings
    times, happens = search(observer, ephemeris().sun, *span, _elevation_deg(event))
    seconds = _seconds_of(times)[np.asarray(happens, dtype=bool)]
    if rises:
        begin, end = noons[today - 1], noons[today]
        found = np.searchsorted(seconds, end) - 1
    else:
        begin, end = noons[today], noons[today + 1]
        found = np.searchsorted(seconds, begin)
    padded = np.append(seconds, np.nan)
    candidate = padded[np.clip(found, -1, seconds.size)]
    return np.where((candidate >= begin) & (candidate < end), candidate, np.nan)


def _sun_day(
    local_date: date, noon_s: float, noon_elevation_deg: float, seconds: Mapping[SunEvent, float]
) -> SunDay:
    instants = {
        event: None if np.isnan(second) else _instant(second) for event, second in seconds.items()
    }
    missing = {
        event: (
            Absence.SUN_STAYS_ABOVE
            if noon_elevation_deg > _elevation_deg(event)
            else Absence.SUN_STAYS_BELOW
        )
        for event, instant in instants.items()
        if instant is None
    }
    return SunDay(
        local_date=local_date,
        solar_noon=_instant(noon_s),
        civil_dawn=instants[SunEvent.CIVIL_DAWN],
        sunrise=instants[SunEvent.SUNRISE],
        sunset=instants[SunEvent.SUNSET],
        civil_dusk=instants[SunEvent.CIVIL_DUSK],
        missing=MappingProxyType(missing),
    )


def _elevation_deg(event: SunEvent) -> float:
    if event in (SunEvent.SUNRISE, SunEvent.SUNSET):
        return SUNRISE_ELEVATION_DEG
    return CIVIL_TWILIGHT_ELEVATION_DEG


def _nearest(sorted_seconds: FloatArray, wanted: FloatArray) -> NDArray[np.intp]:
    after = np.searchsorted(sorted_seconds, wanted)
    before_is_nearer = wanted - sorted_seconds[after - 1] < sorted_seconds[after] - wanted
    return np.where(before_is_nearer, after - 1, after)


def _seconds_of(times: Any) -> FloatArray:
    return np.array([instant.timestamp() for instant in times.utc_datetime()], dtype=np.float64)


def _instant(posix_second: float) -> datetime:
    return datetime.fromtimestamp(round(posix_second), UTC)
