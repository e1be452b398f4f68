"""Write facts and messages with their cause; hand them on at least once."""

import logging
import random
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from uuid import UUID

from django.core.mail import EmailMultiAlternatives
from django.db import transaction
from django.db.models import F, Q

from coop.jobs import bell
from coop.outbox.models import Fact, Message, MessageState

logger = logging.getLogger(__name__)

LEASE = timedelta(minutes=2)
MAX_ATTEMPTS = 8

FactHandler = Callable[[Mapping[str, str], datetime], None]

_handlers: dict[str, list[FactHandler]] = {}


def on_fact(topic: str, handler: FactHandler) -> None:
    """Call ``handler(ids, now)`` for each fact of a topic; rooms register when ready.

    A handler runs in one transaction with the others of its fact, and may run again.
    """
    _handlers.setdefault(topic, []).append(handler)


def publish(*, topic: str, ids: Mapping[str, UUID | str], now: datetime) -> Fact:
    """Write a fact in the caller's transaction; topic and ids only, never the news itself."""
    fact = Fact.objects.create(
        topic=topic,
        ids={name: str(value) for name, value in ids.items()},
        occurred_at=now,
        due_at=now,
    )
    transaction.on_commit(bell.ring_outbox)
    return fact


def write_message(
    *,
    once_key: str,
    recipient: str,
    subject: str,
    text: str,
    now: datetime,
    html: str = "",
    cooperative_id: UUID | None = None,
) -> Message:
    """Write one e-mail to be sent; the same ``once_key`` leaves one message."""
    message, created = Message.objects.get_or_create(
        once_key=once_key,
        defaults={
            "recipient": recipient,
            "subject": subject[:200],
            "text": text,
            "html": html,
            "cooperative_id": cooperative_id,
            "due_at": now,
        },
    )
    if created:
        transaction.on_commit(bell.ring_outbox)
    return message


def drain(*, now: datetime) -> tuple[int, int]:
    """Handle the facts and send the messages that are due; returns how many of each."""
    return _handle_facts(now), _send_messages(now)


def send_again(*, message: Message, now: datetime) -> Message:
    """Put a dead message back in the queue."""
    Message.objects.filter(id=message.id, state=MessageState.DEAD).update(
        state=MessageState.WAITING, attempts=0, due_at=now, error=""
    )
    transaction.on_commit(bell.ring_outbox)
    message.refresh_from_db()
    return message


def _handle_facts(now: datetime) -> int:
    handled = 0
    waiting = Fact.objects.filter(handled_at=None, failed_at=None, due_at__lte=now)
    for fact_id in list(waiting.order_by("due_at", "id").values_list("id", flat=True)):
        unleased = Q(lease_until=None) | Q(lease_until__lt=now)
        if not Fact.objects.filter(unleased, id=fact_id, handled_at=None).update(
            lease_until=now + LEASE, attempts=F("attempts") + 1
        ):
            continue
        handled += _handle_fact(Fact.objects.get(id=fact_id), now)
    return handled


def _handle_fact(fact: Fact, now: datetime) -> int:
    try:
        with transaction.atomic():
            for handler in _handlers.get(fact.topic, []):
                handler(fact.ids, now)
            Fact.objects.filter(id=fact.id).update(handled_at=now, lease_until=None, error="")
    except Exception as error:
        logger.exception("fact %s (%s) was not handled", fact.topic, fact.id)
        gone = fact.attempts >= MAX_ATTEMPTS
        Fact.objects.filter(id=fact.id).update(
            lease_until=None,
            error=f"{type(error).__name__}: {error}",
            due_at=now + _back_off(fact.attempts),
            failed_at=now if gone else None,
        )
        return 0
    return 1


def _send_messages(now: datetime) -> int:
    sent = 0
    waiting = Message.objects.filter(state=MessageState.WAITING, due_at__lte=now)
    for message_id in list(waiting.order_by("due_at", "id").values_list("id", flat=True)):
        unleased = Q(lease_until=None) | Q(lease_until__lt=now)
        if not Message.objects.filter(unleased, id=message_id, state=MessageState.WAITING).update(
            lease_until=now + LEASE, attempts=F("attempts") + 1
        ):
            continue
        sent += _send_message(Message.objects.get(id=message_id), now)
    return sent


def _send_message(message: Message, now: datetime) -> int:
    mail = EmailMultiAlternatives(
        subject=message.subject,
        body=message.text,
        to=[message.recipient],
        # The same id after a crash lets the reader's mailbox drop the duplicate.
        headers={"Message-ID": f"<{message.id}@cooperative.invalid>"},
    )
    if message.html:
        mail.attach_alternative(message.html, "text/html")
    try:
        mail.send()
    except OSError as error:
        gone = message.attempts >= MAX_ATTEMPTS
        Message.objects.filter(id=message.id).update(
            lease_until=None,
            error=f"{type(error).__name__}: {error}",
            due_at=now + _back_off(message.attempts),
            state=MessageState.DEAD if gone else MessageState.WAITING,
        )
        return 0
    Message.objects.filter(id=message.id).update(
        state=MessageState.SENT, sent_at=now, lease_until=None, error=""
    )
    return 1


def _back_off(attempts: int) -> timedelta:
    return timedelta(seconds=min(3600, 10 * 2**attempts) * random.uniform(0.5, 1.5))
