"""When a notice may leave: quiet hours and the daily digest; pure, by the clock it is given."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo


@dataclass(frozen=True, kw_only=True)
class ReaderHours:
    """A reader's hours, by the clocks of ``zone``; ``digest_at`` is None for each as it comes."""

    zone: ZoneInfo
    quiet_from: time | None = None
    quiet_until: time | None = None
    digest_at: time | None = None


@dataclass(frozen=True, kw_only=True)
class Departure:
    """When a notice leaves, and whether with the reader's others."""

    at: datetime
    together: bool


def departure(now: datetime, hours: ReaderHours) -> Departure:
    """A notice that is no matter of safety: at once, at the digest, or when quiet hours end."""
    at, together = now, False
    if hours.digest_at is not None:
        at, together = _next(now, hours.digest_at, hours.zone), True
    if is_quiet(at, hours):
        assert hours.quiet_until is not None
        at, together = _next(at, hours.quiet_until, hours.zone), True
    return Departure(at=at, together=together)


def is_quiet(at: datetime, hours: ReaderHours) -> bool:
    """Whether an instant lies in the quiet hours, which may run over midnight."""
    if hours.quiet_from is None or hours.quiet_until is None:
        return False
    clock = at.astimezone(hours.zone).time()
    if hours.quiet_from <= hours.quiet_until:
        return hours.quiet_from <= clock < hours.quiet_until
    return clock >= hours.quiet_from or clock < hours.quiet_until


def _next(after: datetime, clock: time, zone: ZoneInfo) -> datetime:
    """The next instant, not before ``after``, at which the clocks show at least ``clock``."""
    day = after.astimezone(zone).date()
    candidate = datetime.combine(day, clock, tzinfo=zone)
    if candidate < after:
        candidate = datetime.combine(day + timedelta(days=1), clock, tzinfo=zone)
    # Through UTC: a clock time that summer time skips becomes the instant it skips to.
    return candidate.astimezone(after.tzinfo)
