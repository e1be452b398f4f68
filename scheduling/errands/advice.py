"""When to send somebody: the hour in which going there does least harm, in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from properties.land.local_dates import local_date_on
from properties.land.models import Closure, Property
from properties.sessions.local_time import local_date_of
from properties.wind.queries import latest_issue
from properties.wind.sectors import SECTOR_NAMES, sector_of
from properties.wind.visit_hours import VisitHour, visit_hours_of_places
from scheduling.errands import hours as errand_hours
from scheduling.errands.closed_ground import closed_words, closures_at, is_open
from scheduling.errands.places import Place
from scheduling.errands.queries import occupied_times
from scheduling.errands.settings import ErrandSettings
from scheduling.sits.closure_queries import closures_in

LOOK_AHEAD_DAYS = 4
NO_FORECAST = "No forecast reaches the coming days: choose an hour on a quiet wind."
NO_OPEN_HOUR = "No hour of the coming days is open there: wait until the ground is."


@dataclass(frozen=True, kw_only=True)
class Advice:
    """In words, and the hour meant; None where none could be named."""

    text: str
    go_from: datetime | None = None
    go_until: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class Asked:
    """Where somebody is to go (longitude, latitude), and the closures to come of that place."""

    place: Place | None
    closures: tuple[Closure, ...]


def advice_for(
    land: Property, place: Place | None, *, due_on: date, settings: ErrandSettings, now: datetime
) -> Advice:
    """The best hour of the coming days for a place that is to be seen by ``due_on``."""
    closures = coming_closures(land, until=due_on, now=now)
    asked = Asked(place=place, closures=closures_at(closures, place, land=land))
    return advice_for_places(land, [asked], settings=settings, now=now)[0]


def coming_closures(land: Property, *, until: date, now: datetime) -> Sequence[Closure]:
    """Closures in force from today on, until a local date or as far as advice looks ahead."""
    today = local_date_on(land, now)
    return closures_in([land.id], today, max(until, today + timedelta(days=LOOK_AHEAD_DAYS)))


def advice_for_places(
    land: Property, asked: Sequence[Asked], *, settings: ErrandSettings, now: datetime
) -> list[Advice]:
    """The best hour of the coming days for each place; the land is read once for all."""
    zone = ZoneInfo(land.time_zone)
    candidates = errand_hours.candidate_hours(
        now=now, days=LOOK_AHEAD_DAYS, zone=zone, settings=settings
    )
    judged = iter(_judged(land, [one.place for one in asked if one.place], candidates, now))
    return [
        _advice(one, next(judged) if one.place else [], candidates, zone=zone, now=now)
        for one in asked
    ]


def _judged(
    land: Property, places: Sequence[Place], candidates: Sequence[datetime], now: datetime
) -> list[list[VisitHour]]:
    """The hours clear of sits, as the forecast has them, for each place."""
    issue = latest_issue(land, known_at=now) if places else None
    if issue is None:
        return [[] for _place in places]
    occupied = occupied_times(
        property_id=land.id, starts_at=now, ends_at=now + timedelta(days=LOOK_AHEAD_DAYS + 1)
    )
    free = errand_hours.clear_of(candidates, occupied)
    if not free:
        return [[] for _place in places]
    return visit_hours_of_places(land, places=places, hours=free, issue=issue)


def _advice(
    asked: Asked,
    judged: Sequence[VisitHour],
    candidates: Sequence[datetime],
    *,
    zone: ZoneInfo,
    now: datetime,
) -> Advice:
    said = closed_words(asked.closures, today=local_date_of(now, zone))
    begins = f"{said} " if said else ""
    if not any(is_open(hour, asked.closures, zone) for hour in candidates):
        return Advice(text=begins + NO_OPEN_HOUR)
    best = errand_hours.least_harmful(
        hour for hour in judged if is_open(hour.starts_at, asked.closures, zone)
    )
    if best is None:
        return Advice(text=begins + NO_FORECAST)
    local = best.starts_at.astimezone(zone)
    return Advice(
        text=f"{begins}Least harm: {local:%A %d %B, %H:%M} local, {wind_words(best)}, with a "
        f"chance of {100 * best.fit:.0f} % that no deer smells you; no sit is booked on the "
        "property then.",
        go_from=best.starts_at,
        go_until=best.starts_at + timedelta(hours=1),
    )


def wind_words(hour: VisitHour) -> str:
    if hour.wind_from_deg is None:
        return "light or variable wind"
    return f"wind from {SECTOR_NAMES[int(sector_of(hour.wind_from_deg))]}"
