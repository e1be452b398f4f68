"""Take out of the record what it says of somebody whose data is erased; that it happened stays."""

from collections.abc import Collection
from datetime import datetime
from uuid import UUID

from django.db.models import Q, QuerySet, TextField
from django.db.models.functions import Cast

from coop.audit.models import AuditEvent
from coop.naming import KnownAs, forms_in_json

_SIDES = ("before_text", "after_text")


def empty_events(
    *,
    actor_id: str,
    person_id: UUID,
    kinds: Collection[tuple[str, str]],
    property_ids: Collection[UUID],
    known_as: KnownAs,
    now: datetime,
) -> int:
    """Empty events on record; returns how many.

    Those of the person and the account, of ``kinds`` (the kind of an object and its member that
    names the person), that hold one of their addresses, and those of ``property_ids`` that name
    them lose reason, before and after. Those by ``actor_id`` lose the actor's name and keep the
    id, which leads nowhere once the account is gone.
    """
    told = AuditEvent.objects.annotate(
        before_text=Cast("before", TextField()), after_text=Cast("after", TextField())
    )
    about = Q(object_id__in=[each for each in (str(person_id), actor_id) if each])
    for kind, member in kinds:
        of_them = Q(**{f"before__{member}": str(person_id)})
        about |= Q(object_kind=kind) & (of_them | Q(**{f"after__{member}": str(person_id)}))
    ids = set(told.filter(about).values_list("id", flat=True))
    addressed = told.filter(_holding(known_as.addresses))
    ids |= {event.id for event in addressed if known_as.have_address_in(*_texts(event))}
    named = told.filter(_holding(known_as.names), property_id__in=property_ids)
    ids |= {event.id for event in named if known_as.are_named_in(*_texts(event))}
    emptied = AuditEvent.objects.filter(id__in=ids)
    emptied.update(reason="", before={}, after={}, emptied_at=now)
    if not actor_id:
        return len(ids)
    by_them: QuerySet[AuditEvent] = AuditEvent.objects.filter(actor_id=actor_id)
    by_them = by_them.exclude(actor_name="")
    ids |= set(by_them.values_list("id", flat=True))
    by_them.update(actor_name="", emptied_at=now)
    return len(ids)


def _texts(event: AuditEvent) -> tuple[object, ...]:
    return event.reason, event.before, event.after


def _holding(words: Collection[str]) -> Q:
    """Events that may hold one of ``words``: as a part of a longer one, and in any case."""
    found = Q(pk__in=[])
    for word in words:
        found |= Q(reason__icontains=word)
    for form in forms_in_json(words):
        for side in _SIDES:
            found |= Q(**{f"{side}__icontains": form})
    return found
