"""Take out of the record what it says of somebody whose data is erased; that it happened stays."""

import json
from collections.abc import Collection
from datetime import datetime
from uuid import UUID

from django.db.models import Q, TextField
from django.db.models.functions import Cast

from coop.audit.models import AuditEvent

_TEXTS = ("reason", "before_text", "after_text")


def empty_events(
    *,
    actor_id: str,
    object_ids: Collection[str],
    property_ids: Collection[UUID],
    name: str,
    now: datetime,
) -> int:
    """Empty events on record; returns how many.

    Those of ``object_ids``, and those of ``property_ids`` that name ``name``, lose reason,
    before and after; those by ``actor_id`` lose the actor's name and keep the id, which leads
    nowhere once the account is gone.
    """
    told = AuditEvent.objects.annotate(
        before_text=Cast("before", TextField()), after_text=Cast("after", TextField())
    ).filter(Q(object_id__in=object_ids) | Q(property_id__in=property_ids) & _naming(name))
    ids = set(told.values_list("id", flat=True))
    emptied = AuditEvent.objects.filter(id__in=ids)
    emptied.update(reason="", before={}, after={}, emptied_at=now)
    if not actor_id:
        return len(ids)
    by_them = AuditEvent.objects.filter(actor_id=actor_id).exclude(actor_name="")
    ids |= set(by_them.values_list("id", flat=True))
    by_them.update(actor_name="", emptied_at=now)
    return len(ids)


def _naming(name: str) -> Q:
    """Texts that hold a full name; one of a single word counts as a whole entry only."""
    forms = {name, json.dumps(name)[1:-1]} if " " in name else {f'"{name}"', json.dumps(name)}
    found = Q()
    for form in forms:
        for text in _TEXTS:
            found |= Q(**{f"{text}__contains": form})
    return found
