"""In which hours a whole walk does least harm."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from math import ceil, prod
from zoneinfo import ZoneInfo

from properties.land.models import Closure, Property
from properties.wind.queries import latest_issue
from properties.wind.visit_hours import VisitHour, visit_hours_of_places
from scheduling.errands.closed_ground import is_open
from scheduling.errands.hours import candidate_hours, clear_of
from scheduling.errands.queries import occupied_times
from scheduling.errands.settings import ErrandSettings

_HOUR = timedelta(hours=1)
NO_FORECAST = "No forecast reaches that day: choose an hour on a quiet wind."
NO_ROOM = (
    "No start leaves time for the whole walk between the sits, closed ground and the hours of the "
    "settings."
)


@dataclass(frozen=True, kw_only=True)
class StopWork:
    """A place (longitude, latitude) and how many minutes after the start one is there."""

    place: tuple[float, float]
    after_minutes: int


@dataclass(frozen=True, kw_only=True)
class StartHour:
    """A start, and the chance that no deer smells the walker at any stop; stops are taken as
    unrelated, so that the chances are multiplied. ``worst`` is the lowest chance at one stop."""

    starts_at: datetime
    ends_at: datetime
    fit: float
    worst: float


def start_hours(
    land: Property,
    *,
    on: date,
    now: datetime,
    work: Sequence[StopWork],
    minutes: int,
    settings: ErrandSettings,
    closures: Sequence[Closure] = (),
) -> tuple[tuple[StartHour, ...], str]:
    """Whole hours of a local day at which the walk may begin, in order of time, and a sentence.

    The walk lies within the hours of the settings and touches no standing sit and none of the
    ``closures``; each stop is judged in the hour in which one is there. Hours whose forecast is
    unknown are left out.
    """
    if not work:
        return (), ""
    zone = ZoneInfo(land.time_zone)
    begins = datetime.combine(on, time(0), zone)
    length = ceil(minutes / 60)
    every = candidate_hours(now=max(now, begins - _HOUR), days=1, zone=zone, settings=settings)
    day = [hour for hour in every if hour.astimezone(zone).date() == on]
    occupied = occupied_times(
        property_id=land.id, starts_at=begins, ends_at=begins + timedelta(days=2)
    )
    free = {hour for hour in clear_of(day, occupied) if is_open(hour, closures, zone)}
    starts = [
        hour for hour in day if all(hour + _HOUR * number in free for number in range(length))
    ]
    if not starts:
        return (), NO_ROOM
    issue = latest_issue(land, known_at=now)
    judged = (
        []
        if issue is None
        else [
            _by_hour(found)
            for found in visit_hours_of_places(
                land, places=[one.place for one in work], hours=day, issue=issue
            )
        ]
    )
    hours = tuple(
        found for start in starts if (found := _judged(start, work, judged, length)) is not None
    )
    return hours, "" if hours else NO_FORECAST


def _by_hour(hours: Sequence[VisitHour]) -> dict[datetime, float]:
    return {hour.starts_at: hour.fit for hour in hours}


def _judged(
    start: datetime,
    work: Sequence[StopWork],
    judged: Sequence[dict[datetime, float]],
    length: int,
) -> StartHour | None:
    if not judged:
        return None
    fits = [
        known.get(start + _HOUR * (stop.after_minutes // 60))
        for stop, known in zip(work, judged, strict=True)
    ]
    told = [fit for fit in fits if fit is not None]
    if len(told) < len(fits):
        return None
    return StartHour(
        starts_at=start, ends_at=start + _HOUR * length, fit=prod(told), worst=min(told)
    )
