"""Read the work done in a month, and what falls due after it."""

from collections.abc import Iterable
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from coop.reports.periods import Period
from coop.reports.rows import DueRow, WorkRow
from properties.land.models import Property
from properties.sessions.local_time import local_date_of
from properties.stands.models import Inspection
from scheduling.errands.models import Errand, ErrandState
from scrapes.care.models import ScentApplication
from scrapes.sites.models import ScrapeEvent


def work_done(land: Property, period: Period) -> tuple[WorkRow, ...]:
    """Errands, inspections, scent and scrape work, in order of kind and day."""
    inside = (period.starts_at, period.ends_at)
    days = (period.first_on, period.last_on)
    done = Errand.objects.filter(
        property=land, state=ErrandState.DONE, done_at__gte=inside[0], done_at__lt=inside[1]
    ).values_list("kind", "done_at", "done_by__name", "scrape_id")
    scent = ScentApplication.objects.filter(
        scrape__property=land, applied_at__gte=inside[0], applied_at__lt=inside[1]
    ).values_list("applied_at", "applied_by__name", "scrape_id")
    inspections = Inspection.objects.filter(
        stand__property=land, inspected_on__range=days
    ).values_list("inspected_on", "passed")
    built = ScrapeEvent.objects.filter(scrape__property=land, happened_on__range=days).values_list(
        "happened_on", flat=True
    )
    rows = [*_errands_and_scent(done, scent, period.zone)]
    rows += [WorkRow(kind="inspection", local_date=on, passed=passed) for on, passed in inspections]
    rows += [WorkRow(kind="scrape", local_date=on) for on in built]
    return tuple(sorted(rows, key=lambda row: (row.kind, row.local_date, row.person)))


def _errands_and_scent(
    done: Iterable[tuple[Any, ...]], scent: Iterable[tuple[Any, ...]], zone: ZoneInfo
) -> Iterable[WorkRow]:
    # A refresh that was an errand is also recorded as scent: it is one piece of work.
    applied = {
        (scrape_id, local_date_of(applied_at, zone)): name or ""
        for applied_at, name, scrape_id in scent
    }
    for kind, done_at, name, scrape_id in done:
        on = local_date_of(done_at, zone)
        if kind == "refresh_scent":
            applied.setdefault((scrape_id, on), name or "")
        elif kind != "inspect_stand":  # an inspection has its own record
            yield WorkRow(kind=kind, local_date=on, person=name or "")
    for (_scrape_id, on), name in applied.items():
        yield WorkRow(kind="refresh_scent", local_date=on, person=name)


def work_due(land: Property, until: date) -> tuple[DueRow, ...]:
    """Open errands due by a local date, in order of day and kind."""
    rows = Errand.objects.filter(property=land, state=ErrandState.OPEN, due_on__lte=until)
    return tuple(
        DueRow(kind=kind, due_on=on)
        for kind, on in rows.order_by("due_on", "kind").values_list("kind", "due_on")
    )
