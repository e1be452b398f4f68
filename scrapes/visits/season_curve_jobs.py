"""The season's curve is fitted once a week for each cooperative."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from coop.access.actors import system_actor
from coop.jobs import registry
from coop.jobs import services as jobs
from coop.jobs.models import JobRun
from properties.land.models import Cooperative
from scrapes.visits.season_curve_services import fit_cooperatives_season

FIT_SEASON = "scrapes.fit_season"
MONDAY = 1


def register() -> None:
    """Called once by the app when it is ready."""
    registry.register_job(FIT_SEASON, fit, urgency=registry.Urgency.SLOW)
    registry.register_schedule(FIT_SEASON, fits_due)


def fit(job: registry.JobContext) -> dict[str, Any]:
    """Fit the curve of one cooperative (parameter ``cooperative``: its id)."""
    cooperative = Cooperative.objects.get(id=job.parameters["cooperative"])
    job.report(5, "reading what the cameras recorded")
    row = fit_cooperatives_season(
        actor=system_actor(FIT_SEASON), cooperative=cooperative, now=job.now
    )
    if row is None:
        return {"scrapes": 0, "visits": 0, "is_enough": False}
    return {"scrapes": row.scrapes, "visits": row.visits, "is_enough": row.is_enough}


def queue_fit(
    *,
    cooperative_id: UUID,
    property_id: UUID,
    now: datetime,
    requested_by_id: UUID | None = None,
) -> JobRun:
    """A fit now, or the one that waits already; shown to whoever sees jobs of the property."""
    return jobs.enqueue_unless_waiting(
        name=FIT_SEASON,
        scope=str(cooperative_id),
        now=now,
        parameters={"cooperative": str(cooperative_id)},
        property_id=property_id,
        requested_by_id=requested_by_id,
    )


def fits_due(now: datetime) -> Iterable[registry.DueJob]:
    """Once a week, from Monday noon UTC on."""
    year, week, weekday = now.isocalendar()
    if weekday == MONDAY and now.hour < 12:
        return
    for cooperative in Cooperative.objects.order_by("id"):
        yield registry.DueJob(
            name=FIT_SEASON,
            scope=str(cooperative.id),
            period=f"{year}-W{week:02d}",
            parameters={"cooperative": str(cooperative.id)},
        )
