"""Answers kept in the cache, and given again while nothing that they hang on was written.

Whoever keeps takes the :class:`AsOf` first and reads the facts afterwards, so an answer is at
least as new as what it is kept under. It is given again only under the very same: after any
later write in the cooperative the number is another (``scheduling.sync.change_services``).
What an actor may see is not kept: it is read for each request, and part of the key.

The cache is a convenience: what it does not give is judged anew, and one that is away or
answers nonsense fails no request.
"""

import hashlib
import json
import logging
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.cache import cache

from scheduling.sync.change_services import number_changes
from scheduling.sync.models import Change

logger = logging.getLogger(__name__)

EDITION = 1
"""Raised with every change of what is kept, so that no process reads another's form."""
_LEVEL = 1


@dataclass(frozen=True, kw_only=True)
class AsOf:
    """The last change of a cooperative, by number and id: numbers come again after a restore."""

    cooperative_id: UUID
    number: int
    change_id: UUID | None


@dataclass(frozen=True, kw_only=True)
class Answer:
    """A whole answer as it leaves, and the entity tag of its bytes."""

    body: bytes
    etag: str


def as_of(*, cooperative_id: UUID) -> AsOf:
    """What is committed now; to be asked before the first fact is read."""
    number = number_changes(cooperative_id=cooperative_id)
    last = Change.objects.filter(cooperative=cooperative_id, number=number)
    return AsOf(
        cooperative_id=cooperative_id,
        number=number,
        change_id=last.values_list("id", flat=True).first(),
    )


def key_of(asked: Mapping[str, Any]) -> str:
    """The key of a question: of whoever asks, what they may see, and what they ask."""
    text = json.dumps([EDITION, *sorted(asked.items())], default=str)
    return f"offers:{hashlib.sha256(text.encode()).hexdigest()}"


def answer_of(body: bytes) -> Answer:
    return Answer(body=body, etag=f'"{hashlib.blake2b(body, digest_size=16).hexdigest()}"')


def kept(key: str, *, under: AsOf, now: datetime) -> Answer | None:
    """The answer kept under this key, if nothing was written since and time changed nothing."""
    if settings.OFFERS_KEPT_SECONDS <= 0:
        return None
    try:
        found = cache.get(key)
        if found is None:
            return None
        kept_under, judged_at, true_until, etag, packed = found
        if kept_under != _plain(under) or not judged_at <= now.timestamp() < true_until:
            return None
        return Answer(body=zlib.decompress(packed), etag=etag)
    except Exception as error:  # whatever a cache's client raises when its server is away
        logger.warning("no kept offers are read: %s", type(error).__name__)
        return None


def keep(key: str, answer: Answer, *, under: AsOf, now: datetime, true_until: datetime) -> None:
    """Keep an answer that was judged at ``now`` from facts read after ``under`` was taken.

    No longer than ``OFFERS_KEPT_SECONDS``; where that is 0, not at all.
    """
    until = min(true_until, now + timedelta(seconds=settings.OFFERS_KEPT_SECONDS))
    if until <= now:
        return
    packed = zlib.compress(answer.body, _LEVEL)
    value = (_plain(under), now.timestamp(), until.timestamp(), answer.etag, packed)
    try:
        cache.set(key, value, timeout=(until - now).total_seconds())
    except Exception as error:  # as above
        logger.warning("offers are not kept: %s", type(error).__name__)


def _plain(under: AsOf) -> tuple[str, int, str]:
    return str(under.cooperative_id), under.number, str(under.change_id)
