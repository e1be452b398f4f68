"""The hours of a session, from its window, the weather's columns and the sun."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

from properties.sessions.kinds import SessionKey
from properties.sessions.place import Place
from properties.sessions.sun_position import sun_positions
from properties.sessions.windows import SessionWindow
from properties.wind.air import AirHours, forecast_hours
from properties.wind.columns import WeatherColumns
from properties.wind.fit import SessionAir
from properties.wind.settings import WindSettings

_HOUR = timedelta(hours=1)
_STEP = timedelta(minutes=10)


@dataclass(frozen=True, kw_only=True)
class SessionHours:
    """A session with the whole UTC hours that it touches and the air in each."""

    key: SessionKey
    window: SessionWindow
    starts_at: tuple[datetime, ...]
    session_air: SessionAir


def session_hours(
    *,
    windows: Sequence[tuple[SessionKey, SessionWindow]],
    place: Place,
    columns: WeatherColumns,
    issued_at: datetime,
    settings: WindSettings,
) -> list[SessionHours]:
    """The air of each session in the order given.

    A session runs from the hour that holds the middle of the walk in to the one that holds
    the middle of the walk out. In each hour ``steps`` counts the ten-minute steps hunted;
    the sun is taken at the middle of the hour. An hour that the weather does not hold is
    unknown. The direction's error follows from the time since ``issued_at``.
    """
    hours_of = [_hours(window) for _key, window in windows]
    instants = [instant for hours in hours_of for instant in hours]
    if not instants:
        return []
    middle = [instant + _HOUR / 2 for instant in instants]
    sun = sun_positions(place, [*middle, *(instant + _HOUR / 2 + _STEP for instant in instants)])
    elevation, later = np.split(sun.elevation_deg, 2)
    azimuth = np.split(sun.azimuth_deg, 2)[0]
    weather = columns.at(instants)
    lead_hours = [max(0.0, (instant - issued_at) / _HOUR) for instant in instants]
    found = []
    start = 0
    for (key, window), hours in zip(windows, hours_of, strict=True):
        part = slice(start, start + len(hours))
        start += len(hours)
        air = forecast_hours(
            wind_from_deg=weather["wind_from_deg"][part],
            speed_mps=weather["speed_mps"][part],
            gust_mps=weather["gust_mps"][part],
            cloud_fraction=weather["cloud_fraction"][part],
            rain_mm=np.nan_to_num(weather["precipitation_mm"][part]),
            sun_elevation_deg=elevation[part],
            sun_azimuth_deg=azimuth[part],
            sun_rising=later[part] > elevation[part],
            lead_hours=np.array(lead_hours[part]),
            steps=np.array([_steps(instant, window) for instant in hours]),
            settings=settings,
        )
        found.append(
            SessionHours(
                key=key,
                window=window,
                starts_at=tuple(hours),
                session_air=SessionAir(kind=key.kind, air=air),
            )
        )
    return found


def gust_of(air: AirHours) -> float | None:
    """The strongest gust of a session, or its strongest mean wind where no gust is given."""
    strongest = np.fmax(air.gust_mps, air.speed_mps)
    known = strongest[np.isfinite(strongest)]
    return float(known.max()) if known.size else None


def _hours(window: SessionWindow) -> list[datetime]:
    first = _whole_hour(window.approach_from + (window.hunt_from - window.approach_from) / 2)
    last = _whole_hour(window.hunt_until + (window.exit_until - window.hunt_until) / 2)
    return [first + _HOUR * number for number in range((last - first) // _HOUR + 1)]


def _whole_hour(instant: datetime) -> datetime:
    return instant.astimezone(UTC).replace(minute=0, second=0, microsecond=0)


def _steps(hour: datetime, window: SessionWindow) -> float:
    hunted = min(hour + _HOUR, window.hunt_until) - max(hour, window.hunt_from)
    return max(0.0, hunted / _STEP)
