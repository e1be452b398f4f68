"""Letters leave: what is due, in their readers' hours, at least once, each under a stable id."""

import logging
import random
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import F, Q, QuerySet
from django.utils import timezone

from coop.jobs import pulse
from coop.outbox import letters, preferences
from coop.outbox.models import Message, MessageState, NoticePreference
from coop.outbox.timing import departure, is_quiet

logger = logging.getLogger(__name__)

MAX_ATTEMPTS = 8
# Safety is tried every minute for two hours. Common practice, no source.
URGENT_ATTEMPTS = 120
_URGENT_WAIT_S = 60.0


def send_due(
    now: datetime, *, urgent: bool = False, is_over: Callable[[], bool] = lambda: False
) -> int:
    """Send the messages that are due; returns how many left.

    ``urgent`` sends only those of safety. ``is_over`` is asked before each whether to stop.
    """
    sent, lease = 0, pulse.leases_from(now)
    waiting = Message.objects.filter(state=MessageState.WAITING, due_at__lte=now)
    if urgent:
        waiting = waiting.filter(urgent=True)
    safety_first = waiting.order_by("-urgent", "due_at", "id")
    for message_id in list(safety_first.values_list("id", flat=True)):
        if is_over():
            break
        claimed = _claim(Message.objects.filter(id=message_id), now, lease)
        if claimed and claimed[0].in_digest:
            # The reader's other notices that are due leave in the same letter.
            others = Message.objects.filter(
                recipient=claimed[0].recipient, in_digest=True, due_at__lte=now
            )
            claimed += _claim(others, now, lease)
        leaving = _as_wished(claimed, now)
        if leaving:
            sent += _send(leaving, now)
    return sent


def back_off(attempts: int) -> timedelta:
    """Longer after each attempt, up to an hour; the jitter parts what failed together."""
    return timedelta(seconds=min(3600, 10 * 2**attempts) * random.uniform(0.5, 1.5))


def _claim(rows: QuerySet[Message], now: datetime, lease: Callable[[], datetime]) -> list[Message]:
    """Take the lease of those that wait and that nobody holds; each by one conditional update."""
    unleased = Q(lease_until=None) | Q(lease_until__lt=now)
    taken = []
    for message_id in list(rows.order_by("due_at", "id").values_list("id", flat=True)):
        # Due still: the same pass may have tried it in another letter and put it off.
        if not Message.objects.filter(
            unleased, id=message_id, state=MessageState.WAITING, due_at__lte=now
        ).update(lease_until=lease(), attempts=F("attempts") + 1):
            continue
        message = Message.objects.get(id=message_id)
        if message.attempts > _most_attempts(message):
            _end(message, MessageState.DEAD, "given up: whoever sent it kept dying")
            continue
        taken.append(message)
    return taken


def _as_wished(messages: Sequence[Message], now: datetime) -> list[Message]:
    """Those that may leave now, by what their one reader wishes now; the rest is put off or kept.

    The wish may be newer than the message, and a message that failed by day comes again by
    night. Safety asks nobody.
    """
    if all(message.urgent for message in messages):
        return list(messages)
    preference = preferences.preference_of(messages[0].recipient)
    leaving = []
    for message in messages:
        if message.urgent:
            leaving.append(message)
        elif preferences.is_withheld(preference, message.subscription):
            _end(message, MessageState.WITHHELD, "")
        elif is_quiet(now, preferences.hours_of(preference)):
            _put_off(message, preference, now)
        else:
            leaving.append(message)
    return leaving


def _put_off(message: Message, preference: NoticePreference, now: datetime) -> None:
    hours = replace(preferences.hours_of(preference), digest_at=None)
    stands_alone = bool(message.html) or message.attachments.exists()
    Message.objects.filter(id=message.id).update(
        lease_until=None,
        attempts=F("attempts") - 1,
        due_at=departure(now, hours).at,
        in_digest=not stands_alone,
    )


def _send(messages: Sequence[Message], now: datetime) -> int:
    ids = [message.id for message in messages]
    try:
        with pulse.keeping(lambda: _renew(ids)):
            letters.letter(messages).send()
    except Exception as error:
        logger.warning("messages %s did not leave: %s", ids, error)
        for message in messages:
            _failed(message, error, now)
        if not isinstance(error, OSError):
            # No fault of the way but of a letter: the good ones leave without the bad one.
            Message.objects.filter(id__in=ids).update(in_digest=False)
        return 0
    Message.objects.filter(id__in=ids).update(
        state=MessageState.SENT, sent_at=now, lease_until=None, error=""
    )
    return len(ids)


def _renew(ids: Sequence[UUID]) -> bool:
    held = Message.objects.filter(id__in=ids, state=MessageState.WAITING, lease_until__isnull=False)
    return bool(held.update(lease_until=timezone.now() + pulse.LEASE))


def _failed(message: Message, error: Exception, now: datetime) -> None:
    gone = message.attempts >= _most_attempts(message)
    wait = back_off(message.attempts)
    if message.urgent:
        wait = min(wait, timedelta(seconds=_URGENT_WAIT_S))
    # One that was withheld meanwhile, since its reader was erased, waits no more.
    Message.objects.filter(id=message.id, state=MessageState.WAITING).update(
        lease_until=None,
        error=f"{type(error).__name__}: {error}",
        due_at=now + wait,
        state=MessageState.DEAD if gone else MessageState.WAITING,
    )


def _most_attempts(message: Message) -> int:
    return URGENT_ATTEMPTS if message.urgent else MAX_ATTEMPTS


def _end(message: Message, state: MessageState, error: str) -> None:
    Message.objects.filter(id=message.id).update(
        state=state, lease_until=None, error=error, attempts=F("attempts") - 1
    )
