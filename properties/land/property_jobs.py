"""Jobs that each serve one property: how a run names it, and how often a watch comes round."""

from datetime import datetime
from uuid import UUID

from coop.jobs import services as jobs
from coop.jobs.models import JobRun
from coop.jobs.registry import DueJob, JobContext
from properties.land.models import Property


def due_for(property_id: UUID, *, name: str, period: str) -> DueJob:
    """The run of job ``name`` for a property, once in ``period``."""
    return DueJob(
        name=name,
        scope=str(property_id),
        period=period,
        property_id=property_id,
        parameters={"property": str(property_id)},
    )


def queue_for(
    property_id: UUID, *, name: str, now: datetime, requested_by_id: UUID | None = None
) -> JobRun:
    """A run of job ``name`` for a property now, or the one that waits already."""
    return jobs.enqueue_unless_waiting(
        name=name,
        scope=str(property_id),
        now=now,
        parameters={"property": str(property_id)},
        property_id=property_id,
        requested_by_id=requested_by_id,
    )


def property_id_of(job: JobContext) -> UUID:
    """Which property the run serves."""
    return UUID(job.parameters["property"])


def property_of(job: JobContext) -> Property:
    """The property that the run serves, with its cooperative; raises ``Property.DoesNotExist``."""
    return Property.objects.select_related("cooperative").get(id=property_id_of(job))


def period_of_minutes(now: datetime, minutes: int) -> str:
    """The name of the period of so many ``minutes`` within the hour in which ``now`` lies."""
    return f"{now:%Y-%m-%dT%H}:{now.minute // minutes * minutes:02d}"
