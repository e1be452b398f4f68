"""The job that watches for trackers who have not come back."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from coop.access.actors import system_actor
from coop.jobs import registry
from scheduling.tracking.tracker_services import unanswered, watch_trackers

WATCH_TRACKERS = "tracking.watch_trackers"
EVERY_MIN = 5


def watch_trackers_job(job: registry.JobContext) -> dict[str, Any]:
    """The handler; what was raised stands in rows, so it may run twice or after a crash."""
    done = watch_trackers(
        property_id=UUID(job.parameters["property"]),
        actor=system_actor(WATCH_TRACKERS),
        now=job.now,
    )
    return {
        "looked_at": done.looked_at,
        "raised": {rung.label: count for rung, count in done.raised.items()},
        "still_waiting": done.still_waiting,
    }


def trackers_due(now: datetime) -> Iterable[registry.DueJob]:
    """Every few minutes for each property with a tracker past their time."""
    period = f"{now:%Y-%m-%dT%H}:{now.minute // EVERY_MIN * EVERY_MIN:02d}"
    property_ids = (
        unanswered(now=now)
        .order_by("tracking__property")
        .values_list("tracking__property_id", flat=True)
        .distinct()
    )
    for property_id in property_ids:
        yield registry.DueJob(
            name=WATCH_TRACKERS,
            scope=str(property_id),
            period=period,
            property_id=property_id,
            parameters={"property": str(property_id)},
        )
