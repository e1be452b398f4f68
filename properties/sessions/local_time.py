"""Local dates and wall-clock times of a property, through the changes of daylight saving time.

Days are half-open: [first instant, first instant of the next day).
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo


class Clock(StrEnum):
    """What the wall clock did at a stated time."""

    ONCE = "once"
    SKIPPED = "skipped"
    REPEATED = "repeated"


@dataclass(frozen=True, kw_only=True)
class LocalInstant:
    """The instant (UTC) meant by a wall-clock time, and whether the clock showed it once."""

    instant: datetime
    clock: Clock


def instant_of(
    local_date: date, wall_time: time, zone: ZoneInfo, *, second_showing: bool = False
) -> LocalInstant:
    """The instant at which the clocks of ``zone`` show ``wall_time`` on ``local_date``.

    A time that the clocks skip is read as if they had not been put forward, so 02:30 is
    03:30 after the change; of a repeated time the first showing is meant unless
    ``second_showing``.
    """
    wall = datetime.combine(local_date, wall_time.replace(tzinfo=None, fold=0))
    first = wall.replace(tzinfo=zone).astimezone(UTC)
    second = wall.replace(tzinfo=zone, fold=1).astimezone(UTC)
    if first == second:
        return LocalInstant(instant=first, clock=Clock.ONCE)
    if first > second:
        # In a gap the first reading still counts with the offset of before the change.
        return LocalInstant(instant=first, clock=Clock.SKIPPED)
    return LocalInstant(instant=second if second_showing else first, clock=Clock.REPEATED)


def local_date_of(instant: datetime, zone: ZoneInfo) -> date:
    """The date that the calendars of ``zone`` show at ``instant`` (aware)."""
    if instant.tzinfo is None:
        raise ValueError("an instant needs a time zone")
    return instant.astimezone(zone).date()


def local_day(local_date: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """First instant (UTC) of ``local_date`` and of the day after it: 23, 24 or 25 h apart."""
    return _first_instant(local_date, zone), _first_instant(local_date + timedelta(days=1), zone)


def _first_instant(local_date: date, zone: ZoneInfo) -> datetime:
    midnight = instant_of(local_date, time(0), zone)
    if midnight.clock is not Clock.SKIPPED:
        return midnight.instant
    # Some zones put their clocks forward at midnight: the day begins at the change, which
    # is when the clocks of before would have shown 00:00.
    wall = datetime.combine(local_date, time(0))
    before = wall.replace(tzinfo=zone).utcoffset()
    assert before is not None
    return (wall - before).replace(tzinfo=UTC)
