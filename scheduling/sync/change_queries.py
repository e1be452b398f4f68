"""What changed for an actor since a cursor: what they see of it now, and what is gone."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.db.models import Max, Q

from coop.access.actors import Actor, ActorKind
from coop.access.roles import Action
from coop.api.problems import Problem
from properties.people.models import Outfitter, Person
from scheduling.sits.queries import sits_visible_to
from scheduling.sync.change_services import number_changes
from scheduling.sync.cursors import SyncCursor, reach_digest
from scheduling.sync.models import Change, ChangeCount

SITS, OFFERS = "sits", "offers"


class CursorEnded(Problem):
    """What a copy knows cannot be carried on from there."""

    status = 410
    code = "cursor_ended"
    title = "Begin anew"


@dataclass(frozen=True, kw_only=True)
class ChangedSits:
    """Ids of sits to be told as they are now, ids of those gone, and where to go on."""

    told: tuple[UUID, ...]
    gone: tuple[UUID, ...]
    cursor: SyncCursor
    more: bool


@dataclass(frozen=True, kw_only=True)
class ChangedOffers:
    """Properties whose offers may have changed, each with the instant of the last cause."""

    properties: tuple[tuple[UUID, datetime], ...]
    cursor: SyncCursor


def changed_sits(*, actor: Actor, since: SyncCursor | None, at_most: int) -> ChangedSits:
    """At most so many sits: all that the actor sees to begin with, then what changed.

    Raises :class:`CursorEnded`.
    """
    last, since = _begun(SITS, actor, since)
    if since.told_up_to is not None:
        return _first_reading(actor, since, at_most)
    changes = _changes(actor, since.number, last).filter(sit_id__isnull=False)
    rows = list(
        changes.filter(_was_theirs(actor))
        .order_by("number")
        .values_list("number", "sit_id")[: at_most + 1]
    )
    more = len(rows) > at_most
    ids = dict.fromkeys(sit_id for _number, sit_id in rows[:at_most] if sit_id is not None)
    seen = set(sits_visible_to(actor=actor).filter(id__in=ids).values_list("id", flat=True))
    return ChangedSits(
        told=tuple(one for one in ids if one in seen),
        gone=tuple(one for one in ids if one not in seen),
        cursor=_at(since, rows[at_most - 1][0] or 0 if more else last),
        more=more,
    )


def changed_offers(*, actor: Actor, since: SyncCursor | None) -> ChangedOffers:
    """Every property whose offers may have changed; none to begin with, for all are new then.

    Raises :class:`CursorEnded`.
    """
    last, since = _begun(OFFERS, actor, since)
    if since.told_up_to is not None:
        return ChangedOffers(properties=(), cursor=_at(since, last))
    reach = actor.properties_for(Action.FIT_READ)
    found = _changes(actor, since.number, last).filter(property_id__in=reach)
    rows = found.values("property_id").annotate(last_at=Max("changed_at")).order_by("property_id")
    return ChangedOffers(
        properties=tuple(rows.values_list("property_id", "last_at")), cursor=_at(since, last)
    )


def _first_reading(actor: Actor, since: SyncCursor, at_most: int) -> ChangedSits:
    """By id, which only grows: what is booked meanwhile comes here or with the changes."""
    rows = sits_visible_to(actor=actor).order_by("id")
    if since.told_up_to:
        rows = rows.filter(id__gt=UUID(since.told_up_to))
    ids: list[Any] = list(rows.values_list("id", flat=True)[: at_most + 1])
    told = tuple(ids[:at_most])
    more = len(ids) > at_most
    cursor = SyncCursor(
        feed=since.feed,
        reach=since.reach,
        number=since.number,
        told_up_to=str(told[-1]) if more else None,
    )
    return ChangedSits(told=told, gone=(), cursor=cursor, more=more)


def _begun(feed: str, actor: Actor, since: SyncCursor | None) -> tuple[int, SyncCursor]:
    """The last number there is, and the cursor to go on from; a new one where none was sent."""
    cooperative_id = cooperative_of(actor)
    last = number_changes(cooperative_id=cooperative_id)
    reach = _reach(feed, actor)
    if since is None:
        return last, SyncCursor(feed=feed, reach=reach, number=last, told_up_to="")
    if since.feed != feed or since.reach != reach:
        raise CursorEnded(
            "What you may see has changed since this cursor was given, or it is another's. "
            "Drop your copy and begin without a cursor."
        )
    count = ChangeCount.objects.filter(cooperative=cooperative_id).first()
    if since.number > last or (count is not None and since.number < count.forgotten_number):
        raise CursorEnded(
            "This cursor is older than the changes that are kept, or than this server's "
            "memory. Drop your copy and begin without a cursor."
        )
    return last, since


def cooperative_of(actor: Actor) -> UUID:
    """Whose changes concern an actor; raises ``PermissionDenied`` for one who belongs nowhere."""
    found: Any = None
    if actor.kind is ActorKind.APPLICATION:
        found = Outfitter.objects.filter(application=UUID(actor.id))
    elif actor.person_id is not None:
        found = Person.objects.filter(id=actor.person_id)
    cooperative_id = found and found.values_list("cooperative_id", flat=True).first()
    if not isinstance(cooperative_id, UUID):
        raise PermissionDenied("copies are kept for somebody of a cooperative")
    return cooperative_id


def _reach(feed: str, actor: Actor) -> str:
    if feed == OFFERS:
        places: Iterable[UUID] = actor.properties_for(Action.FIT_READ)
    elif actor.kind is ActorKind.APPLICATION:
        places = actor.properties_for(Action.SIT_READ)
    else:
        places = actor.properties_for(Action.SIT_MANAGE)
    return reach_digest(f"{feed} {actor.kind}:{actor.id}", map(str, places))


def _changes(actor: Actor, after: int, up_to: int) -> Any:
    return Change.objects.filter(
        cooperative=cooperative_of(actor), number__gt=after, number__lte=up_to
    )


def _was_theirs(actor: Actor) -> Q:
    """The rule of :func:`scheduling.sits.queries.sits_visible_to`, of whose the sit was then."""
    if actor.kind is ActorKind.APPLICATION:
        outfitters = Outfitter.objects.filter(application=UUID(actor.id)).values("id")
        reach = actor.properties_for(Action.SIT_READ)
        return Q(outfitter_id__in=outfitters, property_id__in=reach)
    own = Q(property_id__in=actor.properties_for(Action.SIT_MANAGE))
    return own | Q(person_id=actor.person_id) | Q(host_id=actor.person_id)


def _at(cursor: SyncCursor, number: int) -> SyncCursor:
    return SyncCursor(feed=cursor.feed, reach=cursor.reach, number=number)


def sits_told(*, actor: Actor, ids: Iterable[UUID]) -> Any:
    return sits_visible_to(actor=actor).filter(id__in=list(ids)).order_by("id")
