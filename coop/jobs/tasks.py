"""Celery's doors to the job rows."""

from uuid import UUID

from celery import shared_task
from django.utils import timezone

from coop.jobs import bell, services

RUNG_A_SWEEP = 50
"""For how many rows a sweep rings, the oldest first. Common practice, no source."""


@shared_task(name="coop.jobs.run_job")
def run_job(run_id: str, **_later: object) -> None:
    services.run_job(run_id=UUID(run_id), now=timezone.now())


@shared_task(name="coop.jobs.tick")
def tick(**_later: object) -> None:
    """Every minute: write what is due."""
    services.enqueue_due(now=timezone.now())


@shared_task(name="coop.jobs.sweep")
def sweep(**_later: object) -> None:
    """Every few seconds: ring for rows that nobody has taken, or whose worker died."""
    for run_id in services.waiting(now=timezone.now())[:RUNG_A_SWEEP]:
        bell.ring_job(run_id, for_s=bell.HEARD_FOR_S)
