"""Celery's door to the outbox."""

from celery import shared_task
from django.utils import timezone

from coop.outbox import services


@shared_task(name="coop.outbox.drain")
def drain(**_later: object) -> None:
    services.drain(now=timezone.now())
