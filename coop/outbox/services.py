"""Write facts and messages with their cause; hand them on at least once."""

import logging
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import Case, F, Q, QuerySet, When
from django.utils import timezone

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import services as audit
from coop.jobs import bell, pulse
from coop.outbox import departures, preferences, sweeping
from coop.outbox.models import Fact, Message, MessageAttachment, MessageState
from coop.outbox.timing import Departure, departure

logger = logging.getLogger(__name__)

MAX_ATTEMPTS = 8

FactHandler = Callable[[Mapping[str, str], datetime], None]
FactFollower = Callable[[Fact, datetime], None]

PASS_WITHIN_S = 5.0
"""How long a pass of urgent work goes on taking things up before it rings again, so that other
urgent work gets its turn. Common practice, no source."""

_handlers: dict[str, list[FactHandler]] = {}
_urgent_topics: set[str] = set()
_followers: list[FactFollower] = []


@dataclass(frozen=True, kw_only=True)
class Attachment:
    name: str
    media_type: str
    content: bytes


def on_fact(topic: str, handler: FactHandler, *, urgent: bool = False) -> None:
    """Call ``handler(ids, now)`` for each fact of a topic; rooms register when ready.

    A handler runs in one transaction with the others of its fact, and may run again. Facts of a
    topic that any handler calls ``urgent`` are handled before all others.
    """
    _handlers.setdefault(topic, []).append(handler)
    if urgent:
        _urgent_topics.add(topic)


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
    private: bool = False,
    attachments: Sequence[Attachment] = (),
) -> Message:
    """Write one e-mail to be sent; the same ``once_key`` leaves one message.

    ``urgent`` is for safety: it leaves at once whatever its reader prefers. Others keep the
    reader's quiet hours and digest. ``subscription`` names what a reader may end by a link.
    ``private`` keeps the text from everybody but its reader.
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
                "private": private,
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
            transaction.on_commit(_bell_of(message))
    return message


def drain(*, now: datetime) -> tuple[int, int]:
    """Handle the facts and send the messages that are due; returns how many of each."""
    return _handle_facts(now), departures.send_due(now)


def drain_urgent(
    *, now: datetime, monotonic: Callable[[], float] = time.monotonic
) -> tuple[int, int]:
    """Handle facts, the urgent first, and send the letters that are a matter of safety.

    Letters, facts and the letters that follow from them each have :data:`PASS_WITHIN_S`, so that
    a mail server that hangs holds no fact up; the bell rings again for what is left.
    """

    def within() -> Callable[[], bool]:
        ends_at = monotonic() + PASS_WITHIN_S
        return lambda: monotonic() >= ends_at

    sent = departures.send_due(now, urgent=True, is_over=within())
    handled = _handle_facts(now, is_over=within())
    sent += departures.send_due(timezone.now(), urgent=True, is_over=within())
    if sweeping.outbox_lies(timezone.now()):
        bell.ring_outbox()
    return handled, sent


def send_letters(*, now: datetime) -> int:
    """Send the letters that are due, safety first all the same; returns how many left."""
    return departures.send_due(now)


def _bell_of(message: Message) -> Callable[[], None]:
    return bell.ring_outbox if message.urgent else bell.ring_letters


@transaction.atomic
def send_again(*, actor: Actor, message: Message, now: datetime) -> Message:
    """Put a dead message back in the queue; one in any other state stays as it is."""
    if message.cooperative_id is None:
        raise PermissionDenied("this message belongs to no cooperative")
    actor.require_in_cooperative(Action.MESSAGE_SEND, message.cooperative_id)
    revived = Message.objects.filter(id=message.id, state=MessageState.DEAD).update(
        state=MessageState.WAITING, attempts=0, due_at=now, error=""
    )
    message.refresh_from_db()
    if revived:
        audit.record(
            actor=actor,
            action=Action.MESSAGE_SEND,
            target=message,
            now=now,
            before={"state": MessageState.DEAD},
        )
        transaction.on_commit(_bell_of(message))
    return message


def handle_again(*, facts: QuerySet[Fact], now: datetime) -> int:
    """Put facts back in the queue that were given up after too many attempts."""
    revived = facts.filter(failed_at__isnull=False, handled_at=None).update(
        failed_at=None, attempts=0, due_at=now, lease_until=None
    )
    transaction.on_commit(bell.ring_outbox)
    return revived


def _handle_facts(now: datetime, *, is_over: Callable[[], bool] = lambda: False) -> int:
    handled, lease = 0, pulse.leases_from(now)
    waiting = Fact.objects.filter(handled_at=None, failed_at=None, due_at__lte=now)
    turn = Case(When(topic__in=sorted(_urgent_topics), then=0), default=1)
    for fact_id in list(waiting.order_by(turn, "due_at", "id").values_list("id", flat=True)):
        if is_over():
            break
        unleased = Q(lease_until=None) | Q(lease_until__lt=now)
        if not Fact.objects.filter(unleased, id=fact_id, handled_at=None).update(
            lease_until=lease(), attempts=F("attempts") + 1
        ):
            continue
        fact = Fact.objects.get(id=fact_id)
        with pulse.keeping(partial(_renew, fact)):
            handled += _handle_fact(fact, now)
    return handled


def _renew(fact: Fact) -> bool:
    held = Fact.objects.filter(id=fact.id, handled_at=None, lease_until__isnull=False)
    return bool(held.update(lease_until=timezone.now() + pulse.LEASE))


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
            due_at=now + departures.back_off(fact.attempts),
            failed_at=now if gone else None,
        )
        return 0
    return 1
