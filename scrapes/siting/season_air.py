"""Low sun and recorded wind of a property's season, as a place for a scrape meets them."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from properties.land.models import Property
from properties.sessions.local_time import local_date_of
from properties.sessions.queries import place_of, seasons_of, windows_of
from properties.sessions.seasons import BreedingPeak, Season
from properties.sessions.sun import sun_days
from properties.sessions.sun_position import sun_positions
from properties.sessions.windows import SessionWindow
from properties.wind.models import ObservedHour
from properties.wind.sectors import sector_of

AROUND_PEAK = timedelta(days=45)
MOST_SEASONS = 6
EVERY_DAYS = 7
_SECTORS = 8


@dataclass(frozen=True, kw_only=True, eq=False)
class RecordedWind:
    """Directions of the recorded hours that fell into sessions of the season.

    ``wind_from_deg`` has shape (hours,); ``source`` is the one with the most hours, "" if none.
    """

    source: str
    wind_from_deg: NDArray[np.float64]

    @property
    def sector_shares(self) -> tuple[float, ...]:
        """Shares of 8 sectors from north clockwise; all 0 without a record."""
        hours = len(self.wind_from_deg)
        counts = np.bincount(sector_of(self.wind_from_deg), minlength=_SECTORS)
        return tuple(float(count) / hours if hours else 0.0 for count in counts)

    def frequent_deg(self, least_share: float) -> tuple[float, ...]:
        """Centres of the sectors from which it blew at least that often."""
        width = 360 / _SECTORS
        return tuple(
            sector * width
            for sector, share in enumerate(self.sector_shares)
            if share > 0 and share >= least_share
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class SeasonAir:
    """``assumed`` says that no season was entered and the days around the peak were taken."""

    first_on: date
    last_on: date
    assumed: bool
    sun_azimuths_deg: tuple[float, ...]
    wind: RecordedWind


def season_air(land: Property, *, now: datetime) -> SeasonAir:
    """Sun of the season that runs or comes next (else the last), wind of the last seasons."""
    today = local_date_of(now, place_of(land).zone)
    entered = seasons_of(property_id=land.id)
    coming = [season for season in entered if season.last_on >= today]
    chosen = coming[0] if coming else entered[-1] if entered else _around_peak(land, today)
    seasons = entered[-MOST_SEASONS:] or (
        chosen,
        _around_peak(land, chosen.first_on - timedelta(days=300)),
    )
    return SeasonAir(
        first_on=chosen.first_on,
        last_on=chosen.last_on,
        assumed=not entered,
        sun_azimuths_deg=_low_sun(land, chosen),
        wind=_wind(land, seasons, now),
    )


def _around_peak(land: Property, on: date) -> Season:
    peak = BreedingPeak(usual=land.peak_of_breeding).nearest(on)
    return Season(
        name="around the peak of breeding",
        first_on=peak - AROUND_PEAK,
        last_on=peak + AROUND_PEAK,
        weapons=frozenset(),
    )


def _low_sun(land: Property, season: Season) -> tuple[float, ...]:
    """Azimuths of sunrise and sunset, once a week and on the last day."""
    place = place_of(land)
    days = list(sun_days(place, season.first_on, season.last_on))
    sampled = {day.local_date: day for day in (*days[::EVERY_DAYS], days[-1])}
    instants = [
        instant
        for day in sampled.values()
        for instant in (day.sunrise, day.sunset)
        if instant is not None
    ]
    if not instants:
        return ()
    return tuple(float(azimuth) for azimuth in sun_positions(place, instants).azimuth_deg)


def _wind(land: Property, seasons: Sequence[Season], now: datetime) -> RecordedWind:
    spans = sorted(
        (window.hunt_from, window.hunt_until)
        for season in seasons
        if season.first_on <= local_date_of(now, place_of(land).zone)
        for window in windows_of(land, first=season.first_on, last=season.last_on).values()
        if isinstance(window, SessionWindow)
    )
    if not spans:
        return RecordedWind(source="", wind_from_deg=np.zeros(0))
    rows = [
        (source, starts_at.timestamp(), direction)
        for source, starts_at, direction in ObservedHour.objects.filter(
            property=land,
            starts_at__gte=spans[0][0],
            starts_at__lt=min(now, max(end for _start, end in spans)),
            wind_from_deg__isnull=False,
            speed_mps__gt=0,
        ).values_list("source", "starts_at", "wind_from_deg")
    ]
    if not rows:
        return RecordedWind(source="", wind_from_deg=np.zeros(0))
    hours = Counter(source for source, _at, _direction in rows)
    best = max(hours, key=lambda source: (hours[source], source))
    at = np.array([second for source, second, _direction in rows if source == best])
    direction = np.array([turned for source, _at, turned in rows if source == best], float)
    starts = np.array([start.timestamp() for start, _end in spans])
    # Seasons of different weapons may overlap; the end that reaches furthest so far decides.
    ends = np.maximum.accumulate([end.timestamp() for _start, end in spans])
    index = np.searchsorted(starts, at, side="right") - 1
    inside = (index >= 0) & (at < ends[np.maximum(index, 0)])
    return RecordedWind(source=best, wind_from_deg=direction[inside])
