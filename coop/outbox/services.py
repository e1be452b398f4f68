"""Write facts and messages with their cause; hand them on at least once."""

import logging
import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import F, Q, QuerySet

from coop.jobs import bell
from coop.outbox import letters, preferences
from coop.outbox.models import Fact, Message, MessageAttachment, MessageState
from coop.outbox.timing import Departure, departure

logger = logging.getLogger(__name__)

LEASE = timedelta(minutes=2)
MAX_ATTEMPTS = 8

FactHandler = Callable[[Mapping[str, str], datetime], None]
FactFollower = Callable[[Fact, datetime], None]

_handlers: dict[str, list[FactHandler]] = {}
_followers: list[FactFollower] = []


@dataclass(frozen=True, kw_only=True)
class Attachment:
    name: str
    media_type: str
    content: bytes


def on_fact(topic: str, handler: FactHandler) -> None:
    """Call ``handler(ids, now)`` for each fact of a topic; rooms register when ready.

    A handler runs in one transaction with the others of its fact, and may run again.
    """
    _handlers.setdefault(topic, []).append(handler)


def on_any_fact(follower: FactFollower) -> None:
    """Call ``follower(fact, now)`` with the handling of every fact, whatever its topic."""
    if follower not in _followers:
        _followers.append(follower)


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
    urgent: bool = False,
    subscription: str = "",
    attachments: Sequence[Attachment] = (),
) -> Message:
    """Write one e-mail to be sent; the same ``once_key`` leaves one message.

    ``urgent`` is for safety: it leaves at once whatever its reader prefers. Others keep the
    reader's quiet hours and digest. ``subscription`` names what a reader may end by a link.
    """
    preference = preferences.preference_of(recipient)
    leaving = Departure(at=now, together=False)
    withheld = False
    if not urgent:
        leaving = departure(now, preferences.hours_of(preference))
        withheld = preferences.is_withheld(preference, subscription)
    # A page with its paper is read for itself; short notices can share one letter.
    together = leaving.together and not (attachments or html)
    with transaction.atomic():
        message, created = Message.objects.get_or_create(
            once_key=once_key,
            defaults={
                "recipient": recipient,
                "subject": subject[:200],
                "text": text,
                "html": html,
                "cooperative_id": cooperative_id,
                "urgent": urgent,
                "in_digest": together,
                "subscription": subscription,
                "state": MessageState.WITHHELD if withheld else MessageState.WAITING,
                "due_at": leaving.at,
            },
        )
        if created:
            MessageAttachment.objects.bulk_create(
                MessageAttachment(
                    message=message,
                    name=one.name,
                    media_type=one.media_type,
                    content=one.content,
                )
                for one in attachments
            )
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
            for follower in _followers:
                follower(fact, now)
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
        claimed = _claim(Message.objects.filter(id=message_id), now)
        if claimed and claimed[0].in_digest:
            # The reader's other notices that are due leave in the same letter.
            others = Message.objects.filter(
                recipient=claimed[0].recipient, in_digest=True, due_at__lte=now
            )
            claimed += _claim(others, now)
        if claimed:
            sent += _send(claimed, now)
    return sent


def _claim(rows: QuerySet[Message], now: datetime) -> list[Message]:
    """Take the lease of those that wait and that nobody holds; each by one conditional update."""
    unleased = Q(lease_until=None) | Q(lease_until__lt=now)
    taken = []
    for message_id in list(rows.order_by("due_at", "id").values_list("id", flat=True)):
        # Due still: the same pass may have tried it in another letter and put it off.
        if Message.objects.filter(
            unleased, id=message_id, state=MessageState.WAITING, due_at__lte=now
        ).update(lease_until=now + LEASE, attempts=F("attempts") + 1):
            taken.append(Message.objects.get(id=message_id))
    return taken


def _send(messages: Sequence[Message], now: datetime) -> int:
    ids = [message.id for message in messages]
    try:
        letters.letter(messages).send()
    except OSError as error:
        for message in messages:
            gone = message.attempts >= MAX_ATTEMPTS
            Message.objects.filter(id=message.id).update(
                lease_until=None,
                error=f"{type(error).__name__}: {error}",
                due_at=now + _back_off(message.attempts),
                state=MessageState.DEAD if gone else MessageState.WAITING,
            )
        return 0
    Message.objects.filter(id__in=ids).update(
        state=MessageState.SENT, sent_at=now, lease_until=None, error=""
    )
    return len(ids)


def _back_off(attempts: int) -> timedelta:
    return timedelta(seconds=min(3600, 10 * 2**attempts) * random.uniform(0.5, 1.5))
