"""The job that works the waiting list: after facts that free a seat, and by the clock."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db.models import Q

from coop.access.actors import system_actor
from coop.jobs import registry
from properties.land.property_jobs import due_for, period_of_minutes, property_id_of
from scheduling.sits.waiting_models import OPEN_STATES, WaitingEntry, WaitingState
from scheduling.sits.waiting_services import WORK_WAITING_LIST
from scheduling.sits.waiting_work import work_waiting_list

ANSWERS_EVERY_MIN = 5
SWEEP_EVERY_MIN = 30


def work_waiting_list_job(job: registry.JobContext) -> dict[str, Any]:
    """The handler; who was served stands in rows, so it may run twice or after a crash."""
    done = work_waiting_list(
        property_id=property_id_of(job),
        actor=system_actor(WORK_WAITING_LIST),
        now=job.now,
    )
    return {
        "looked_at": done.looked_at,
        "booked": done.booked,
        "offered": done.offered,
        "ended": done.ended,
        "still_waiting": done.still_waiting,
    }


def waiting_due(now: datetime) -> Iterable[registry.DueJob]:
    """Soon after an answer is overdue; now and then for whatever else may have freed a seat."""
    waiting = WaitingEntry.objects.filter(state__in=OPEN_STATES)
    over = Q(state=WaitingState.OFFERED, answer_by__lte=now) | Q(starts_at__lte=now)
    for rows, every_min in ((waiting.filter(over), ANSWERS_EVERY_MIN), (waiting, SWEEP_EVERY_MIN)):
        period = f"{every_min} {period_of_minutes(now, every_min)}"
        ids = rows.order_by("property").values_list("property_id", flat=True).distinct()
        for property_id in ids:
            yield due_for(property_id, name=WORK_WAITING_LIST, period=period)
