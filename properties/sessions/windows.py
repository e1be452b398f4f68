"""When a session begins and ends: walk in, hunt, walk out, as instants in UTC.

The hunt lies inside the shooting light that the property's settings allow. That says
nothing about what is lawful or safe: the state sets hours, and they differ by game.
Windows are half-open. A day on which the sun does not both rise and set has no session.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from properties.sessions.kinds import SessionKey, SessionKind
from properties.sessions.place import Place
from properties.sessions.settings import SessionSettings
from properties.sessions.sun import SunDay, SunEvent, sun_day, sun_days


@dataclass(frozen=True, kw_only=True)
class ShootingLight:
    """The light in which the property's settings let hunting go on, on one local date."""

    begins_at: datetime
    ends_at: datetime


@dataclass(frozen=True, kw_only=True)
class SessionWindow:
    """One session, or all of a day; its instants never go back and the hunt is never empty.

    ``keys`` are the sessions it stands for: one, or morning and evening.
    """

    keys: tuple[SessionKey, ...]
    approach_from: datetime
    hunt_from: datetime
    hunt_until: datetime
    exit_until: datetime


@dataclass(frozen=True, kw_only=True)
class NoSession:
    """There is nothing to sit; ``reason`` says why, as a clause to put into a sentence."""

    keys: tuple[SessionKey, ...]
    reason: str


def shooting_light(day: SunDay, settings: SessionSettings) -> ShootingLight | None:
    """Shooting light of a day by the settings; None where there is none."""
    if day.sunrise is None or day.sunset is None:
        return None
    begins_at = day.sunrise - timedelta(minutes=settings.shooting_light_before_sunrise_min)
    ends_at = day.sunset + timedelta(minutes=settings.shooting_light_after_sunset_min)
    return ShootingLight(begins_at=begins_at, ends_at=ends_at) if begins_at < ends_at else None


def session_window(
    *, place: Place, session: SessionKey, settings: SessionSettings
) -> SessionWindow | NoSession:
    """The window of one session at ``place``.

    On days so short that morning and evening would overlap they meet at solar noon, or where
    the shooting light comes nearest to it; a session left without time is none.
    """
    return _window(sun_day(place, session.local_date), (session,), settings)


def all_day_window(
    *, place: Place, local_date: date, settings: SessionSettings
) -> SessionWindow | NoSession:
    """The window of a sit from the morning's walk in to the evening's walk out."""
    return _window(sun_day(place, local_date), _both(local_date), settings)


def session_windows(
    *, place: Place, first: date, last: date, settings: SessionSettings
) -> Mapping[SessionKey, SessionWindow | NoSession]:
    """Both sessions of every local date from ``first`` to ``last``, both included, in order."""
    return {
        key: _window(day, (key,), settings)
        for day in sun_days(place, first, last)
        for key in _both(day.local_date)
    }


def _both(local_date: date) -> tuple[SessionKey, SessionKey]:
    return (
        SessionKey(local_date, SessionKind.MORNING),
        SessionKey(local_date, SessionKind.EVENING),
    )


def _window(
    day: SunDay, keys: tuple[SessionKey, ...], settings: SessionSettings
) -> SessionWindow | NoSession:
    reason = day.why_missing(SunEvent.SUNRISE) or day.why_missing(SunEvent.SUNSET)
    if reason is not None:
        return NoSession(keys=keys, reason=reason)
    light = shooting_light(day, settings)
    if light is None:
        return NoSession(keys=keys, reason="the settings leave no shooting light that day")
    morning_until, evening_from = _hunts_meet(day, light, settings)
    kinds = {key.kind for key in keys}
    hunt_from = light.begins_at if SessionKind.MORNING in kinds else evening_from
    hunt_until = light.ends_at if SessionKind.EVENING in kinds else morning_until
    if hunt_from >= hunt_until:
        return NoSession(keys=keys, reason="the settings leave no time to hunt in that session")
    return SessionWindow(
        keys=keys,
        approach_from=hunt_from - timedelta(minutes=settings.walk_in_min),
        hunt_from=hunt_from,
        hunt_until=hunt_until,
        exit_until=hunt_until + timedelta(minutes=settings.walk_out_min),
    )


def _hunts_meet(
    day: SunDay, light: ShootingLight, settings: SessionSettings
) -> tuple[datetime, datetime]:
    """When the morning hunt ends and the evening hunt begins, the first never after the second."""
    assert day.sunrise is not None
    assert day.sunset is not None
    morning = day.sunrise + timedelta(hours=settings.morning_hunt_after_sunrise_h)
    evening = day.sunset - timedelta(hours=settings.evening_hunt_before_sunset_h)
    morning_until, evening_from = min(morning, light.ends_at), max(evening, light.begins_at)
    if morning_until > evening_from:
        # On the shortest days the light that the settings leave may miss solar noon.
        meeting = min(max(day.solar_noon, light.begins_at), light.ends_at)
        return meeting, meeting
    return morning_until, evening_from
