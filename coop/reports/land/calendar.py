"""The land's calendar: closures and seasons for all, work and sits as counts for its keepers.

No stand, no scrape and no person is named: whoever may know them reads them elsewhere.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from properties.land.models import Closure, Property
from properties.obligations.models import WorkDay
from properties.sessions.models import Season
from scheduling.errands.models import Errand, ErrandState
from scheduling.sits.models import Sit, SitSpan
from scheduling.sits.uses_queries import COUNTED_STATES

LONGEST_DAYS = 400


@dataclass(frozen=True, kw_only=True)
class CalendarDay:
    """What lies on one date, as counts: errands due by kind, hours worked, people by span."""

    on: date
    errands: dict[str, int]
    work_h: float
    morning: int
    evening: int


def closures_of(land: Property, first_on: date, last_on: date) -> list[Closure]:
    """Closures in force that touch the dates, both included."""
    rows = Closure.objects.filter(
        property=land, lifted_at=None, first_on__lte=last_on, last_on__gte=first_on
    )
    return list(rows.order_by("first_on", "id"))


def seasons_of(land: Property, first_on: date, last_on: date) -> list[Season]:
    """Seasons that touch the dates, both included, in order of their first day."""
    rows = Season.objects.filter(property=land, first_on__lte=last_on, last_on__gte=first_on)
    return list(rows.order_by("first_on", "name", "id"))


def days_of(land: Property, first_on: date, last_on: date) -> list[CalendarDay]:
    """The dates on which something lies, in order; a constant number of queries."""
    dates = (first_on, last_on)
    errands: dict[date, Counter[str]] = {}
    due = Errand.objects.filter(property=land, state=ErrandState.OPEN, due_on__range=dates)
    for on, kind in due.values_list("due_on", "kind"):
        errands.setdefault(on, Counter())[kind] += 1
    worked: Counter[date] = Counter()
    done = WorkDay.objects.filter(property=land, withdrawn_at=None, worked_on__range=dates)
    for on, hours in done.values_list("worked_on", "hours"):
        worked[on] += float(hours)  # type: ignore[assignment]
    sits: Counter[tuple[date, str]] = Counter()
    rows = Sit.objects.filter(property=land, state__in=COUNTED_STATES, local_date__range=dates)
    for on, span in rows.values_list("local_date", "span"):
        sits.update((on, session) for session in _sessions(span))
    found = {*errands, *worked, *(on for on, _session in sits)}
    return [
        CalendarDay(
            on=on,
            errands=dict(sorted(errands.get(on, Counter()).items())),
            work_h=round(worked[on], 2),
            morning=sits[on, "morning"],
            evening=sits[on, "evening"],
        )
        for on in sorted(found)
    ]


def longest_end(first_on: date) -> date:
    """The last date that a calendar from ``first_on`` may reach."""
    return first_on + timedelta(days=LONGEST_DAYS - 1)


def _sessions(span: str) -> Iterable[Any]:
    return ("morning", "evening") if span == SitSpan.ALL_DAY else (span,)
