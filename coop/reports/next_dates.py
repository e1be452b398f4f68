"""What comes next on the land: seasons, closures, work, booked sits."""

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta

from coop.printing.privacy import withheld
from coop.reports import wording
from coop.reports.periods import Period
from coop.reports.rows import MonthRows


@dataclass(frozen=True, kw_only=True)
class NextDate:
    """``what`` is a kind that sentences know; ``until`` the last day, ``count`` how many."""

    on: date
    what: str
    name: str = ""
    until: date | None = None
    count: int = 0


def next_dates(rows: MonthRows, period: Period, *, days_ahead: int) -> tuple[NextDate, ...]:
    """Dates after the month, or after today while the month still runs, in order."""
    today = rows.now.astimezone(period.zone).date()
    # For a month long past, what came next is told from the month's end, not from today.
    after = min(today, period.last_on)
    until = period.last_on + timedelta(days=days_ahead)
    dates = [
        *_seasons(rows, after, until),
        *_closures(rows, after, until),
        *_due(rows, after, until),
        *_sits(rows, after, until),
    ]
    return tuple(sorted(dates, key=lambda one: (one.on, one.what, one.name)))


def _seasons(rows: MonthRows, after: date, until: date) -> list[NextDate]:
    begins = [
        NextDate(on=row.first_on, what="season_begins", name=row.name, until=row.last_on)
        for row in rows.seasons
        if after < row.first_on <= until
    ]
    ends = [
        NextDate(on=row.last_on, what="season_ends", name=row.name)
        for row in rows.seasons
        if after < row.last_on <= until
    ]
    return begins + ends


def _closures(rows: MonthRows, after: date, until: date) -> list[NextDate]:
    return [
        NextDate(
            on=row.first_on,
            what="closure",
            name=wording.closed_ground(withheld(row.reason), whole=row.whole),
            until=row.last_on,
        )
        for row in rows.closures
        if row.last_on > after and row.first_on <= until
    ]


def _due(rows: MonthRows, after: date, until: date) -> list[NextDate]:
    """Work planned, one line for each kind and day; what is overdue has no date to come."""
    counts = Counter((row.due_on, row.kind) for row in rows.due if after < row.due_on <= until)
    return [
        NextDate(on=on, what="work_due", name=kind, count=count)
        for (on, kind), count in sorted(counts.items())
    ]


def _sits(rows: MonthRows, after: date, until: date) -> list[NextDate]:
    days = Counter(
        row.local_date
        for row in (*rows.sits, *rows.sits_ahead)
        if row.state == "booked" and after < row.local_date <= until
    )
    if not days:
        return []
    return [NextDate(on=min(days), what="sits_booked", until=max(days), count=sum(days.values()))]
