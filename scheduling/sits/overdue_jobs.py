"""The job that watches for hunters who have not come back."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from coop.access.actors import system_actor
from coop.jobs import registry
from properties.land.property_jobs import due_for, period_of_minutes, property_id_of
from scheduling.sits.overdue_queries import unanswered
from scheduling.sits.overdue_services import watch_overdue

WATCH_OVERDUE = "sits.watch_overdue"
EVERY_MIN = 5


def watch_overdue_job(job: registry.JobContext) -> dict[str, Any]:
    """The handler; what was raised stands in rows, so it may run twice or after a crash."""
    done = watch_overdue(
        property_id=property_id_of(job),
        actor=system_actor(WATCH_OVERDUE),
        now=job.now,
    )
    return done.as_result()


def overdue_due(now: datetime) -> Iterable[registry.DueJob]:
    """Every few minutes for each property with a sit past its end that nobody answered for."""
    period = period_of_minutes(now, EVERY_MIN)
    property_ids = unanswered(now=now).order_by("property").values_list("property_id", flat=True)
    for property_id in property_ids.distinct():
        yield due_for(property_id, name=WATCH_OVERDUE, period=period)
