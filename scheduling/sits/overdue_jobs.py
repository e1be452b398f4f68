"""The job that watches for hunters who have not come back."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from coop.access.actors import system_actor
from coop.jobs import registry
from scheduling.sits.overdue_services import unanswered, watch_overdue

WATCH_OVERDUE = "sits.watch_overdue"
EVERY_MIN = 5


def watch_overdue_job(job: registry.JobContext) -> dict[str, Any]:
    """The handler; what was raised stands in rows, so it may run twice or after a crash."""
    done = watch_overdue(
        property_id=UUID(job.parameters["property"]),
        actor=system_actor(WATCH_OVERDUE),
        now=job.now,
    )
    return {
        "looked_at": done.looked_at,
        "raised": {rung.label: count for rung, count in done.raised.items()},
        "still_waiting": done.still_waiting,
    }


def overdue_due(now: datetime) -> Iterable[registry.DueJob]:
    """Every few minutes for each property with a sit past its end that nobody answered for."""
    period = f"{now:%Y-%m-%dT%H}:{now.minute // EVERY_MIN * EVERY_MIN:02d}"
    property_ids = unanswered(now=now).order_by("property").values_list("property_id", flat=True)
    for property_id in property_ids.distinct():
        yield registry.DueJob(
            name=WATCH_OVERDUE,
            scope=str(property_id),
            period=period,
            property_id=property_id,
            parameters={"property": str(property_id)},
        )
