"""Celery's doors to the job rows."""

from uuid import UUID

from celery import shared_task
from django.utils import timezone

from coop.jobs import bell, services


@shared_task(name="coop.jobs.run_job")
def run_job(run_id: str, **_later: object) -> None:
    services.run_job(run_id=UUID(run_id), now=timezone.now())


@shared_task(name="coop.jobs.tick")
def tick(**_later: object) -> None:
    """Every minute: write what is due, and ring for rows that nobody has taken."""
    now = timezone.now()
    services.enqueue_due(now=now)
    for run_id in services.waiting(now=now):
        bell.ring_job(run_id)
