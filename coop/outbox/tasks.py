"""Celery's doors to the outbox."""

from celery import shared_task
from django.utils import timezone

from coop.jobs import bell
from coop.outbox import services, sweeping
from coop.outbox.webhooks import delivery


@shared_task(name="coop.outbox.drain")
def drain(**_later: object) -> None:
    """Facts and letters of safety, in the urgent queue: nothing that takes long."""
    services.drain_urgent(now=timezone.now())


@shared_task(name="coop.outbox.send_letters")
def send_letters(**_later: object) -> None:
    """Apart from the drain: a month's reports to a slow mail server hold no fact up."""
    services.send_letters(now=timezone.now())


@shared_task(name="coop.outbox.deliver")
def deliver(**_later: object) -> None:
    """Apart from the drain: a receiver that is slow to answer holds no letter up."""
    delivery.deliver_due()


@shared_task(name="coop.outbox.sweep")
def sweep(**_later: object) -> None:
    """Every few seconds: ring for what lies there and nobody is at."""
    now = timezone.now()
    if sweeping.outbox_lies(now):
        bell.ring_outbox(for_s=bell.HEARD_FOR_S)
    if sweeping.letters_lie(now):
        bell.ring_letters(for_s=bell.HEARD_FOR_S)
    if sweeping.deliveries_lie(now):
        bell.ring_deliveries(for_s=bell.HEARD_FOR_S)
