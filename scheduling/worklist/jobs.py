"""The job that writes a property's list, and when it is due."""

from collections.abc import Iterable
from dataclasses import asdict
from datetime import datetime
from typing import Any

from coop.access.actors import system_actor
from coop.jobs import registry
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.property_jobs import due_for, property_of
from scheduling.worklist.generation_services import write_worklist
from scheduling.worklist.weeks import week_name

WRITE = "worklist.write"


def register() -> None:
    """Called once by the app when it is ready."""
    registry.register_job(WRITE, write)
    registry.register_schedule(WRITE, lists_due)


def write(job: registry.JobContext) -> dict[str, Any]:
    """Bring one property's list up to date (parameter ``property``: its id)."""
    land = property_of(job)
    return asdict(write_worklist(actor=system_actor(WRITE), land=land, now=job.now))


def lists_due(now: datetime) -> Iterable[registry.DueJob]:
    """Each day of the property's ISO week, after the errands that come round were opened."""
    if now.hour < 12:
        return
    for land in Property.objects.filter(retired_at=None).only("id", "time_zone"):
        today = local_date_on(land, now)
        yield due_for(land.id, name=WRITE, period=f"{week_name(today)}-{today.isoweekday()}")
