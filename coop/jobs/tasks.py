"""Celery's doors to the job rows."""

from uuid import UUID

from celery import shared_task
from django.utils import timezone

from coop.jobs import bell, services
from coop.jobs.models import JobRun

RUNG_A_SWEEP = 50
"""For how many rows a sweep rings, those first whose turn is first. Common practice, no source."""


@shared_task(name="coop.jobs.run_job")
def run_job(run_id: str, **_later: object) -> None:
    services.answer_bell(run_id=UUID(run_id), now=timezone.now())


@shared_task(name="coop.jobs.tick")
def tick(**_later: object) -> None:
    """Every minute: write what is due and not urgent."""
    services.enqueue_due(now=timezone.now(), urgent=False)


@shared_task(name="coop.jobs.tick_urgent")
def tick_urgent(**_later: object) -> None:
    """Every minute, apart: it asks few schedules and is heard in the urgent queue."""
    services.enqueue_due(now=timezone.now(), urgent=True)


@shared_task(name="coop.jobs.sweep")
def sweep(**_later: object) -> None:
    """Every few seconds: ring for rows that nobody has taken, or whose worker died."""
    ids = services.waiting(now=timezone.now(), at_most=RUNG_A_SWEEP)
    names = dict(JobRun.objects.filter(id__in=ids).values_list("id", "name"))
    for run_id in ids:
        services.ring_for(run_id, names[run_id], for_s=bell.HEARD_FOR_S)
