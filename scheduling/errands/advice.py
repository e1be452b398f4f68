"""When to send somebody: the hour in which going there does least harm, in words."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from properties.land.models import Property
from properties.wind.queries import latest_issue
from properties.wind.sectors import SECTOR_NAMES, sector_of
from properties.wind.visit_hours import VisitHour, visit_hours
from scheduling.errands import hours as errand_hours
from scheduling.errands.queries import occupied_times
from scheduling.errands.settings import ErrandSettings

LOOK_AHEAD_DAYS = 4


@dataclass(frozen=True, kw_only=True)
class Advice:
    """In words, and the hour meant; None where none could be named."""

    text: str
    go_from: datetime | None = None
    go_until: datetime | None = None


def advice_for(
    land: Property,
    place: tuple[float, float] | None,
    *,
    settings: ErrandSettings,
    now: datetime,
) -> Advice:
    """The best hour of the coming days for a place (longitude, latitude)."""
    best = _best_hour(land, place, settings, now) if place else None
    if best is None:
        return Advice(text="No forecast reaches the coming days: choose an hour on a quiet wind.")
    local = best.starts_at.astimezone(ZoneInfo(land.time_zone))
    return Advice(
        text=f"Least harm: {local:%A %d %B, %H:%M} local, {wind_words(best)}, with a chance of "
        f"{100 * best.fit:.0f} % that no deer smells you; no sit is booked on the property then.",
        go_from=best.starts_at,
        go_until=best.starts_at + timedelta(hours=1),
    )


def _best_hour(
    land: Property, place: tuple[float, float], settings: ErrandSettings, now: datetime
) -> VisitHour | None:
    issue = latest_issue(land, known_at=now)
    if issue is None:
        return None
    zone = ZoneInfo(land.time_zone)
    candidates = errand_hours.candidate_hours(
        now=now, days=LOOK_AHEAD_DAYS, zone=zone, settings=settings
    )
    occupied = occupied_times(
        property_id=land.id, starts_at=now, ends_at=now + timedelta(days=LOOK_AHEAD_DAYS + 1)
    )
    free = errand_hours.clear_of(candidates, occupied)
    if not free:
        return None
    judged = visit_hours(land, longitude=place[0], latitude=place[1], hours=free, issue=issue)
    return errand_hours.least_harmful(judged)


def wind_words(hour: VisitHour) -> str:
    if hour.wind_from_deg is None:
        return "light or variable wind"
    return f"wind from {SECTOR_NAMES[int(sector_of(hour.wind_from_deg))]}"
