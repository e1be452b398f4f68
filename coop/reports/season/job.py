"""The job that writes seasons, and when it is due."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from coop.access.actors import system_actor
from coop.jobs.models import JobRun
from coop.jobs.registry import DueJob, JobContext
from coop.reports.queries import settings_of_layers
from coop.reports.season import services
from properties.land.models import Cooperative
from properties.land.years import year_of

NAME = "reports.season"


def write_season_job(context: JobContext) -> Mapping[str, Any]:
    """Write a cooperative's season; running again leaves the edition that is stored.

    Parameters: ``cooperative`` (id) and ``season_year``.
    """
    cooperative = Cooperative.objects.get(id=context.parameters["cooperative"])
    context.report(5, f"{cooperative.name}: reading the season")
    written = services.write_season(
        actor=system_actor(NAME),
        cooperative=cooperative,
        season_year=int(context.parameters["season_year"]),
        now=context.now,
    )
    return {
        "report": str(written.report.id),
        "edition": written.report.edition,
        "is_new": written.is_new,
        "pdf_missing_reason": written.report.pdf_missing_reason,
    }


def due_seasons(now: datetime) -> Iterable[DueJob]:
    """The season that is over, of each cooperative, once that holds on all its properties.

    What has a run already is left out, so a beat that was down for days still catches up.
    """
    waiting = []
    for cooperative in Cooperative.objects.prefetch_related("properties"):
        zones = {land.time_zone for land in cooperative.properties.all()}
        if not zones:
            continue
        settings = settings_of_layers(cooperative.settings)
        first_month = settings.sits.season_year_first_month
        # By the clocks that are furthest behind, and at the hour at which months are due.
        local = min(now.astimezone(ZoneInfo(zone)).replace(tzinfo=None) for zone in zones)
        over = year_of(local.date(), first_month=first_month) - 1
        is_first_morning = (local.month, local.day) == (first_month, 1)
        if not is_first_morning or local.hour >= settings.report.due_hour:
            waiting.append((str(cooperative.id), str(over)))
    runs = set(
        JobRun.objects.filter(
            name=NAME, period__in={period for _scope, period in waiting}
        ).values_list("scope", "period")
    )
    for scope, period in waiting:
        if (scope, period) not in runs:
            yield DueJob(
                name=NAME,
                scope=scope,
                period=period,
                property_id=None,
                parameters={"cooperative": scope, "season_year": int(period)},
            )
