"""What a metrics collector is told of the outbox: how old the oldest facts and messages are."""

from datetime import datetime

from django.db.models import Count, Min

from coop.outbox.models import Fact, Message, MessageState
from coop.outbox.webhooks.models import WebhookDelivery
from coop.telemetry.metrics import Values, register_reading


def register() -> None:
    register_reading(
        "coop_oldest_fact_seconds", "Age of the oldest fact nobody has handled.", _facts
    )
    register_reading(
        "coop_oldest_message_seconds", "Delay of the oldest message that is due.", _messages
    )
    register_reading("coop_messages", "Messages by state.", _counts, labels=("state",))
    register_reading(
        "coop_webhook_deliveries", "Events to receivers by state.", _deliveries, labels=("state",)
    )
    register_reading("coop_facts_given_up", "Facts that no handler could handle.", _given_up)


def _facts(now: datetime) -> Values:
    oldest = Fact.objects.filter(handled_at=None).aggregate(oldest=Min("occurred_at"))["oldest"]
    return [({}, (now - oldest).total_seconds() if oldest else 0.0)]


def _messages(now: datetime) -> Values:
    due = Message.objects.filter(state=MessageState.WAITING, due_at__lte=now)
    oldest = due.aggregate(oldest=Min("due_at"))["oldest"]
    return [({}, (now - oldest).total_seconds() if oldest else 0.0)]


def _counts(now: datetime) -> Values:
    rows = Message.objects.values("state").annotate(messages=Count("id"))
    return [({"state": row["state"]}, row["messages"]) for row in rows]


def _deliveries(now: datetime) -> Values:
    rows = WebhookDelivery.objects.values("state").annotate(deliveries=Count("id"))
    return [({"state": row["state"]}, row["deliveries"]) for row in rows]


def _given_up(now: datetime) -> Values:
    return [({}, Fact.objects.filter(failed_at__isnull=False, handled_at=None).count())]
