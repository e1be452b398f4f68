"""Celery's door to the outbox."""

from celery import shared_task
from django.utils import timezone

from coop.outbox import services
from coop.outbox.webhooks import delivery


@shared_task(name="coop.outbox.drain")
def drain(**_later: object) -> None:
    services.drain(now=timezone.now())


@shared_task(name="coop.outbox.deliver")
def deliver(**_later: object) -> None:
    """Apart from the drain: a receiver that is slow to answer holds no letter up."""
    delivery.deliver_due()
