"""The daily review of scrapes as a job."""

from collections.abc import Iterable
from dataclasses import asdict
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from coop.access.actors import system_actor
from coop.jobs import registry
from coop.jobs.models import JobRun
from properties.land.models import Property
from properties.land.property_jobs import due_for, property_of, queue_for
from scrapes.care import services
from scrapes.care.review import care_settings

REVIEW = "scrapes.review"


def register() -> None:
    """Called once by the app when it is ready."""
    registry.register_job(REVIEW, review, urgency=registry.Urgency.SLOW)
    registry.register_schedule(REVIEW, reviews_due)


def review(job: registry.JobContext) -> dict[str, Any]:
    """Review the scrapes of one property (parameter ``property``: its id)."""
    land = property_of(job)
    done = services.review_property(
        actor=system_actor(REVIEW), land=land, now=job.now, report=job.report
    )
    return asdict(done)


def queue_review(
    *, property_id: UUID, now: datetime, requested_by_id: UUID | None = None
) -> JobRun:
    """A review now, or the one that waits already."""
    return queue_for(property_id, name=REVIEW, now=now, requested_by_id=requested_by_id)


def reviews_due(now: datetime) -> Iterable[registry.DueJob]:
    """Once a local day for each property, from its own hour on."""
    for land in Property.objects.filter(retired_at=None).select_related("cooperative"):
        local = now.astimezone(ZoneInfo(land.time_zone))
        if local.hour >= care_settings(land).review_hour:
            yield due_for(land.id, name=REVIEW, period=f"{local.date()}")
