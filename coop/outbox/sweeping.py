"""Whether facts, letters or events lie there that nobody is at: their bell was lost, or their
worker died.

While somebody hands rows on one by one, the others are not lying there: they wait their turn.
"""

from datetime import datetime
from typing import Any

from django.db.models import QuerySet

from coop.outbox.models import Fact, Message, MessageState
from coop.outbox.webhooks.models import DeliveryState, WebhookDelivery


def outbox_lies(now: datetime) -> bool:
    """Facts to be handled, or letters of safety to be sent."""
    facts = Fact.objects.filter(handled_at=None, failed_at=None)
    return _lies(facts, now) or _lies(_letters(urgent=True), now)


def letters_lie(now: datetime) -> bool:
    """Letters to be sent that may wait."""
    return _lies(_letters(urgent=False), now)


def deliveries_lie(now: datetime) -> bool:
    """Events to be sent to receivers."""
    return _lies(WebhookDelivery.objects.filter(state=DeliveryState.WAITING), now)


def _letters(*, urgent: bool) -> QuerySet[Message]:
    return Message.objects.filter(state=MessageState.WAITING, urgent=urgent)


def _lies(unfinished: QuerySet[Any], now: datetime) -> bool:
    if unfinished.filter(lease_until__lt=now).exists():
        return True
    due = unfinished.filter(due_at__lte=now, lease_until=None)
    return due.exists() and not unfinished.filter(lease_until__gte=now).exists()
