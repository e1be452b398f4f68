"""A search for places for a scrape as a job, where it would keep the caller waiting."""

from datetime import datetime
from typing import Any
from uuid import UUID

from coop.jobs import registry
from coop.jobs import services as jobs
from coop.jobs.models import JobRun
from properties.land.models import Property
from scrapes.siting.search import lay_search, run_search
from scrapes.siting.serializers import SearchAnswerSerializer

SEARCH = "siting.search"


def register() -> None:
    """Called once by the app when it is ready."""
    registry.register_job(SEARCH, search, urgency=registry.Urgency.SLOW)


def search(job: registry.JobContext) -> dict[str, Any]:
    """Search one property; the result is what the endpoint would have answered."""
    told = job.parameters
    land = Property.objects.select_related("cooperative").get(id=told["property"])
    laid = lay_search(land, now=job.now, spacing_m=told["spacing_m"], reach_m=told["reach_m"])
    answer = run_search(laid, most=told["most"], report=job.report)
    return dict(SearchAnswerSerializer(answer).data)


def queue_search(
    *,
    property_id: UUID,
    spacing_m: float | None,
    reach_m: float | None,
    most: int,
    now: datetime,
    requested_by_id: UUID | None = None,
) -> JobRun:
    """The search as a job, or the same one that waits already."""
    return jobs.enqueue_unless_waiting(
        name=SEARCH,
        scope=f"{property_id}/{spacing_m}/{reach_m}/{most}",
        now=now,
        parameters={
            "property": str(property_id),
            "spacing_m": spacing_m,
            "reach_m": reach_m,
            "most": most,
        },
        property_id=property_id,
        requested_by_id=requested_by_id,
    )
