"""Low sun and recorded wind of a property's season, as a place for a scrape meets them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.sessions.kinds import SessionKey
from properties.sessions.local_time import local_date_of
from properties.sessions.queries import place_of, seasons_of, windows_of
from properties.sessions.seasons import BreedingPeak, Season
from properties.sessions.sun import sun_days
from properties.sessions.sun_position import sun_positions
from properties.sessions.windows import SessionWindow
from properties.wind.fit import SessionAir
from properties.wind.sectors import sector_of
from properties.wind.session_hours import session_hours
from properties.wind.settings import WindSettings
from properties.wind.stand_wind_queries import observed_columns

AROUND_PEAK = timedelta(days=45)
MOST_SEASONS = 6
EVERY_DAYS = 7
_SECTORS = 8
_DAY = timedelta(days=1)


@dataclass(frozen=True, kw_only=True, eq=False)
class RecordedWind:
    """Wind of the sessions of past days of the season, as observed.

    ``sessions`` are those whose every hour was observed, of ``sessions_past`` in all;
    ``wind_from_deg`` (hours,) the directions of all hunted hours observed, calm apart.
    """

    sessions: tuple[SessionAir, ...]
    sessions_past: int
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

    def spread(self, most: int) -> tuple[SessionAir, ...]:
        """All sessions, or ``most`` of them evenly spread over the record."""
        if len(self.sessions) <= most:
            return self.sessions
        places = np.linspace(0, len(self.sessions) - 1, most).round().astype(int)
        return tuple(self.sessions[place] for place in places)


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
    peak = BreedingPeak(usual=land.peak_of_breeding_reckoned).nearest(on)
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
    windows = _past_windows(land, seasons, now)
    if not windows:
        return RecordedWind(sessions=(), sessions_past=0, wind_from_deg=np.zeros(0))
    columns = observed_columns(
        land,
        since=min(window.approach_from for _key, window in windows) - _DAY,
        until=max(window.exit_until for _key, window in windows) + _DAY,
    )
    # Observed, not forecast: without lead time only the least error of direction is left.
    found = session_hours(
        windows=windows,
        place=place_of(land),
        columns=columns,
        issued_at=now,
        settings=layered_settings.resolve(WindSettings, *setting_layers(land)),
    )
    airs = [session.session_air for session in found]
    directions = [
        air.wind_from_deg[
            air.known & (air.steps > 0) & (air.speed_mps > 0) & np.isfinite(air.wind_from_deg)
        ]
        for air in (session.air for session in airs)
    ]
    return RecordedWind(
        sessions=tuple(session for session in airs if session.air.known.all()),
        sessions_past=len(airs),
        wind_from_deg=np.concatenate(directions),
    )


def _past_windows(
    land: Property, seasons: Sequence[Season], now: datetime
) -> list[tuple[SessionKey, SessionWindow]]:
    """Sessions of the seasons' days that are over; seasons of several weapons may overlap."""
    today = local_date_of(now, place_of(land).zone)
    found: dict[SessionKey, SessionWindow] = {}
    for season in seasons:
        if season.first_on > today:
            continue
        windows = windows_of(land, first=season.first_on, last=min(season.last_on, today))
        for key, window in windows.items():
            if isinstance(window, SessionWindow) and window.exit_until <= now:
                found[key] = window
    return [(key, found[key]) for key in sorted(found)]
