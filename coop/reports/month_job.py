"""The job that writes months, and when it is due."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from coop.access.actors import system_actor
from coop.jobs.models import JobRun
from coop.jobs.registry import DueJob, JobContext
from coop.reports import queries, services
from coop.reports.periods import month_before, month_of
from properties.land.models import Property

NAME = "reports.month"


def write_month_job(context: JobContext) -> Mapping[str, Any]:
    """Write one property's month; running again leaves the edition that is stored.

    Parameters: ``property`` (id) and ``month`` (as ``2025-10``).
    """
    land = Property.objects.select_related("cooperative").get(id=context.parameters["property"])
    month = month_of(context.parameters["month"])
    context.report(5, f"{land.name}: reading the month")
    written = services.write_month(
        actor=system_actor(NAME), land=land, month=month, now=context.now
    )
    return {
        "report": str(written.report.id),
        "edition": written.report.edition,
        "is_new": written.is_new,
        "pdf_missing_reason": written.report.pdf_missing_reason,
    }


def due_months(now: datetime) -> Iterable[DueJob]:
    """Last month's report of each property, once its own first of the month has struck.

    The hour is the property's own local one. What has a run already is left out, so a beat
    that was down for days still catches up.
    """
    waiting = []
    for land in Property.objects.filter(retired_at=None).select_related("cooperative"):
        local = now.astimezone(ZoneInfo(land.time_zone))
        hour = queries.report_settings_of(land).due_hour
        if (local.day, local.hour) >= (1, hour):
            waiting.append((str(land.id), f"{month_before(now, land.time_zone):%Y-%m}", land.id))
    runs = set(
        JobRun.objects.filter(
            name=NAME, period__in={period for _scope, period, _id in waiting}
        ).values_list("scope", "period")
    )
    for scope, period, property_id in waiting:
        if (scope, period) not in runs:
            yield DueJob(
                name=NAME,
                scope=scope,
                period=period,
                property_id=property_id,
                parameters={"property": scope, "month": period},
            )
