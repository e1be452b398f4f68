"""Make, replace and end calendar feeds; answer one by the secret of its address."""

import hashlib
import secrets
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import CharField, Q, QuerySet
from django.db.models.functions import Cast

from coop.access.actors import Actor, person_actor
from coop.access.roles import Action
from coop.audit import writing
from properties.land.models import Property
from properties.people.models import Person
from scheduling.sits import queries
from scheduling.sits.calendar_columns import IdText, InstantText, written_id, written_instant
from scheduling.sits.calendar_models import CalendarFeed, FormerHolding
from scheduling.sits.calendar_text import FeedEvent, calendar_text, instant
from scheduling.sits.models import Sit, SitState
from scheduling.sits.notices import session_words

PAST_DAYS_SHOWN = 120
SECRET_BYTES = 32
NOTICE = (
    "Check in when you are at the stand and out when you are down and away. Nothing here says "
    "that a sit is safe or lawful."
)


def feeds_of(*, actor: Actor) -> QuerySet[CalendarFeed]:
    """One's own feeds that still answer; nobody sees another's."""
    return CalendarFeed.objects.filter(person=actor.person_id, revoked_at=None)


@transaction.atomic
def replace_feed(*, actor: Actor, land: Property | None, now: datetime) -> tuple[CalendarFeed, str]:
    """Make a feed, or give it a new secret, which ends its old address at once.

    Returns the feed and the secret, which is told once. A property's feed is for those who
    know everybody there by name. Raises ``PermissionDenied``.
    """
    if actor.person_id is None:
        raise PermissionDenied("calendar feeds belong to persons")
    if land is not None:
        actor.require(Action.REPORT_READ, land.id)
    # Two who ask at once wait here, so that the second replaces what the first was told.
    person = Person.objects.select_for_update(no_key=True).get(id=actor.person_id)
    secret = secrets.token_urlsafe(SECRET_BYTES)
    record: dict[str, Any] = {
        "actor": actor,
        "action": Action.ROSTER_READ,
        "now": now,
        "property_id": land.id if land else None,
    }
    changes = {"digest": _digest(secret), "revoked_at": None}
    feed = CalendarFeed.objects.filter(person=person, property=land).first()
    if feed is None:
        feed = writing.create(CalendarFeed(person=person, property=land, **changes), **record)
    else:
        writing.change(feed, changes, **record, reason="address replaced")
    return feed, secret


@transaction.atomic
def revoke_feed(*, actor: Actor, feed: CalendarFeed, now: datetime) -> None:
    """End a feed of one's own."""
    if feed.person_id != actor.person_id:
        raise PermissionDenied("this feed is not yours")
    writing.change(
        feed,
        {"revoked_at": now},
        actor=actor,
        action=Action.ROSTER_READ,
        now=now,
        property_id=feed.property_id,
    )


def feed_text(*, secret: str, now: datetime) -> bytes | None:
    """The feed behind a secret; None where there is none, or its owner may read it no more."""
    feed = (
        CalendarFeed.objects.select_related("person__user", "property")
        .filter(digest=_digest(secret), revoked_at=None)
        .first()
    )
    if feed is None or feed.person.retired_at is not None:
        return None
    user = feed.person.user
    if user is None or not user.is_active:
        return None
    actor = person_actor(user.id, feed.person.name)
    if feed.property is not None and not actor.may(Action.REPORT_READ, feed.property.id):
        return None
    name = f"Sits on {feed.property.name}" if feed.property else f"Sits of {feed.person.name}"
    return calendar_text(name=name, events=_events(feed, actor, now))


def _events(feed: CalendarFeed, actor: Actor, now: datetime) -> Iterable[FeedEvent]:
    """What is theirs now, and as cancelled what was theirs and went elsewhere."""
    theirs = (
        Q(property=feed.property)
        if feed.property
        else Q(person=feed.person_id) | Q(host=feed.person_id)
    )
    since = now - timedelta(days=PAST_DAYS_SHOWN)
    rows = Sit.objects.filter(theirs, ends_at__gte=since).order_by("starts_at", "id")
    # As a feed of a property requires, its reader knows everybody there.
    shown = list(_named_events(rows) if feed.property else _known_events(rows, actor))
    uids = {event.uid for event in shown}
    gone = {
        str(former.sit_id): _gone_event(former, actor)
        # The last of them wins, should a sit have gone and come back before.
        for former in _former_of(feed).filter(ends_at__gte=since).order_by("sequence")
    }
    return shown + [event for uid, event in gone.items() if uid not in uids]


def _former_of(feed: CalendarFeed) -> QuerySet[FormerHolding]:
    theirs = Q(property=feed.property) if feed.property else Q(person=feed.person_id)
    return FormerHolding.objects.filter(theirs).select_related("sit", "stand", "person", "property")


_COLUMNS = (
    IdText("id"),
    "version",
    InstantText("starts_at"),
    InstantText("ends_at"),
    InstantText("created_at"),
    InstantText("updated_at"),
    Cast("local_date", CharField()),
    "span",
    "state",
    "property__name",
    "stand__name",
    "person__name",
)
"""Of a sit, as an event tells it."""
_WHOSE = ("property_id", "person_id", "person__host_id")
_GONE = frozenset({SitState.CANCELLED.value, SitState.MISSED.value})


@dataclass
class _Session:
    local_date: date
    span: str


@lru_cache(maxsize=2000)
def _words(local_date: str, span: str) -> str:
    """A season has some hundred sessions, and a feed many sits in each."""
    return session_words(_Session(date.fromisoformat(local_date), span))


def _named_events(rows: QuerySet[Sit]) -> Iterator[FeedEvent]:
    for *told, name in rows.values_list(*_COLUMNS):
        yield _event(told, name)


def _known_events(rows: QuerySet[Sit], actor: Actor) -> Iterator[FeedEvent]:
    for *told, name, land_id, person_id, host_id in rows.values_list(*_COLUMNS, *_WHOSE):
        of = (person_id, host_id)
        yield _event(told, queries.as_known(name, of=of, actor=actor, property_id=land_id))


def _event(told: list[Any], who: str) -> FeedEvent:
    """The event of a row of ``_COLUMNS``, with the name under which its reader knows ``who``."""
    uid, version, starts_at, ends_at, created_at, changed_at, local_date, span, state = told[:9]
    land, stand = told[9:]
    return FeedEvent(
        uid=written_id(uid),
        sequence=version,
        starts_at=written_instant(starts_at),
        ends_at=written_instant(ends_at),
        created_at=written_instant(created_at),
        changed_at=written_instant(changed_at),
        summary=f"{stand}: {who}",
        location=f"{stand}, {land}",
        description=f"{who} at {stand} in {_words(local_date, span)}.\n\n{NOTICE}",
        is_cancelled=state in _GONE,
    )


def _gone_event(former: FormerHolding, actor: Actor) -> FeedEvent:
    """As it was when it went; nothing of what it became since."""
    who = queries.name_shown(former.person, actor=actor, property_id=former.property_id)
    return FeedEvent(
        uid=str(former.sit_id),
        sequence=former.sequence,
        starts_at=instant(former.starts_at),
        ends_at=instant(former.ends_at),
        created_at=instant(former.sit.created_at),
        changed_at=instant(former.ended_at),
        summary=f"{former.stand.name}: {who}",
        location=f"{former.stand.name}, {former.property.name}",
        description="This sit has gone to somebody else or to another property.",
        is_cancelled=True,
    )


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
