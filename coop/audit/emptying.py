"""Take out of the record what it says of somebody whose data is erased; that it happened stays."""

import json
from collections.abc import Collection
from datetime import datetime
from uuid import UUID

from django.db.models import Q, TextField
from django.db.models.functions import Cast

from coop.audit.models import AuditEvent
from coop.naming import can_be_sought_in_texts

_TEXTS = ("reason", "before_text", "after_text")


def empty_events(
    *,
    actor_id: str,
    person_id: UUID,
    kinds: Collection[tuple[str, str]],
    property_ids: Collection[UUID],
    name: str,
    addresses: Collection[str],
    now: datetime,
) -> int:
    """Empty events on record; returns how many.

    Those of the person and the account, of ``kinds`` (the kind of an object and its member that
    names the person), that hold one of ``addresses``, and those of ``property_ids`` that name
    ``name`` lose reason, before and after. Those by ``actor_id`` lose the actor's name and keep
    the id, which leads nowhere once the account is gone.
    """
    told = AuditEvent.objects.annotate(
        before_text=Cast("before", TextField()), after_text=Cast("after", TextField())
    )
    about = Q(object_id__in=[each for each in (str(person_id), actor_id) if each])
    for kind, member in kinds:
        of_them = Q(**{f"before__{member}": str(person_id)})
        about |= Q(object_kind=kind) & (of_them | Q(**{f"after__{member}": str(person_id)}))
    about |= _holding(addresses)
    told = told.filter(about | Q(property_id__in=property_ids) & _naming(name))
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
    # SQLite keeps JSON in ASCII, PostgreSQL as it is read.
    forms = {name, json.dumps(name)[1:-1]}
    return _holding(forms if can_be_sought_in_texts(name) else {f'"{form}"' for form in forms})


def _holding(words: Collection[str]) -> Q:
    found = Q()
    for word in words:
        for text in _TEXTS:
            found |= Q(**{f"{text}__contains": word})
    return found
