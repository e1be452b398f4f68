"""Note what changed with its cause; give numbers to what is there; forget what is old."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Max, Model
from django.utils import timezone

from coop.audit.models import AuditEvent
from properties.land.models import Cooperative, Property
from properties.people.models import Person
from scheduling.sits.models import Sit
from scheduling.sync.models import Change, ChangeCount

KEPT = timedelta(days=30)
NUMBERED_AT_ONCE = 2_000
_FLOORS = ("properties", "scheduling")
_WHOSE = ("property", "person", "host", "outfitter")


def note_write(event: AuditEvent, target: Model) -> None:
    """Follow the audit record: every write of a sit, and every one that offers may hang on.

    Offers hang on the land, its people, stands, hours, plans and sits, so on whatever is written
    on this floor and the one below; too many are told of rather than one too few.
    """
    if isinstance(target, Sit):
        _note_sit(target, event.before, event.recorded_at)
    elif target._meta.app_label in _FLOORS:
        note_offers(_properties_of(event, target), now=event.recorded_at)


def note_offers(property_ids: Iterable[UUID], *, now: datetime) -> None:
    """Note that offers of these properties may be others than before."""
    Change.objects.bulk_create(
        Change(cooperative_id=_cooperative_of(one), property_id=one, changed_at=now)
        for one in property_ids
    )


def fits_written(property_id: UUID, _known_at: datetime) -> None:
    """Follow the writing of fits, in its transaction: they are no one's edit, in no record.

    They may be computed as of long ago, but a change is as old as its writing: one that is
    noted as old would end the cursors of all before it.
    """
    note_offers([property_id], now=timezone.now())


def _note_sit(sit: Sit, before: Mapping[str, Any], now: datetime) -> None:
    """For whom it is theirs now, and apart from them for whom it was theirs before."""
    whose = {f"{name}_id": getattr(sit, f"{name}_id") for name in _WHOSE}
    was = {f"{name}_id": before[name] and UUID(before[name]) for name in _WHOSE if name in before}
    heard = [whose] if not was or was == whose else [whose, was]
    Change.objects.bulk_create(
        Change(
            cooperative_id=_cooperative_of(each["property_id"]),
            sit_id=sit.id,
            changed_at=now,
            **each,
        )
        for each in heard
    )


def _properties_of(event: AuditEvent, target: Any) -> list[UUID]:
    """The property of a write; all of the cooperative where it touches them all, or a person."""
    if event.property_id is not None:
        return [event.property_id]
    cooperative_id = _cooperative_touched(target)
    of_cooperative = Property.objects.filter(cooperative=cooperative_id, retired_at=None)
    return list(of_cooperative.values_list("id", flat=True))


def _cooperative_touched(target: Any) -> UUID | None:
    if isinstance(target, Cooperative):
        return target.id
    if hasattr(target, "cooperative_id"):
        found: UUID | None = target.cooperative_id
        return found
    person = getattr(target, "person", None)
    return person.cooperative_id if isinstance(person, Person) else None


@lru_cache(maxsize=4096)
def _cooperative_of(property_id: UUID) -> UUID:
    """A property never goes to another cooperative."""
    found: UUID = Property.objects.values_list("cooperative_id", flat=True).get(id=property_id)
    return found


def number_changes(*, cooperative_id: UUID) -> int:
    """Give the next numbers to changes that have none; returns the last number given.

    One at a time does so, under the lock of the count, and sees what is committed. Whatever is
    committed afterwards is numbered by the next, so above every number that anybody has read.
    """
    waiting = Change.objects.filter(cooperative=cooperative_id, number=None)
    while waiting.exists():
        _number_some(cooperative_id)
    count = ChangeCount.objects.filter(cooperative=cooperative_id)
    return count.values_list("last_number", flat=True).first() or 0


@transaction.atomic
def _number_some(cooperative_id: UUID) -> None:
    ChangeCount.objects.get_or_create(cooperative_id=cooperative_id)
    count = ChangeCount.objects.select_for_update().get(cooperative=cooperative_id)
    waiting = Change.objects.filter(cooperative=cooperative_id, number=None).order_by("id")
    rows = list(waiting.only("id")[:NUMBERED_AT_ONCE])
    for number, row in enumerate(rows, start=count.last_number + 1):
        row.number = number
    Change.objects.bulk_update(rows, ["number"], batch_size=200)
    count.last_number += len(rows)
    count.save(update_fields=["last_number"])


def forget_changes(*, now: datetime) -> int:
    """Delete changes that are older than copies may be; returns how many.

    Cursors from before them end: whoever comes with one takes a new snapshot.
    """
    forgotten = 0
    for cooperative_id in Cooperative.objects.values_list("id", flat=True):
        number_changes(cooperative_id=cooperative_id)
        forgotten += _forget(cooperative_id, before=now - KEPT)
    return forgotten


@transaction.atomic
def _forget(cooperative_id: UUID, *, before: datetime) -> int:
    old = Change.objects.filter(
        cooperative=cooperative_id, changed_at__lt=before, number__isnull=False
    )
    last = old.aggregate(last=Max("number"))["last"]
    if last is None:
        return 0
    ChangeCount.objects.select_for_update().filter(cooperative=cooperative_id).update(
        forgotten_number=last
    )
    # Numbers follow time only nearly: what is numbered below goes too.
    gone, _by_kind = Change.objects.filter(cooperative=cooperative_id, number__lte=last).delete()
    return gone
