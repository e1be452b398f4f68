"""The job that watches for trackers who have not come back."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from coop.access.actors import system_actor
from coop.jobs import registry
from properties.land.property_jobs import due_for, period_of_minutes, property_id_of
from scheduling.tracking.queries import unanswered
from scheduling.tracking.tracker_services import watch_trackers

WATCH_TRACKERS = "tracking.watch_trackers"
EVERY_MIN = 5


def watch_trackers_job(job: registry.JobContext) -> dict[str, Any]:
    """The handler; what was raised stands in rows, so it may run twice or after a crash."""
    done = watch_trackers(
        property_id=property_id_of(job),
        actor=system_actor(WATCH_TRACKERS),
        now=job.now,
    )
    return done.as_result()


def trackers_due(now: datetime) -> Iterable[registry.DueJob]:
    """Every few minutes for each property with a tracker past their time."""
    period = period_of_minutes(now, EVERY_MIN)
    property_ids = (
        unanswered(now=now)
        .order_by("tracking__property")
        .values_list("tracking__property_id", flat=True)
        .distinct()
    )
    for property_id in property_ids:
        yield due_for(property_id, name=WATCH_TRACKERS, period=period)
