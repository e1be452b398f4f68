"""Say who counts as a young hunter, until when, and who supervises them."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.db.models import Q, QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from properties.people.erased import refuse_erased
from properties.people.models import Person
from properties.people.queries import persons_within_reach
from properties.people.youth_models import YouthRecord


def youths_visible_to(*, actor: Actor, action: Action = Action.YOUTH_READ) -> QuerySet[YouthRecord]:
    """One's own, one's guests' and those one supervises; a manager's of their people."""
    if actor.is_system:
        return YouthRecord.objects.all()
    shown = Q(person__in=persons_within_reach(actor=actor, action=action))
    if actor.person_id is not None:
        own = actor.person_id
        shown |= Q(person=own) | Q(person__host=own) | Q(supervisor=own) | Q(other_supervisor=own)
    return YouthRecord.objects.filter(shown)


@transaction.atomic
def create_youth(
    *, actor: Actor, person: Person, fields: Mapping[str, Any], now: datetime
) -> YouthRecord:
    """Record that somebody counts as a young hunter; raises ``ValidationError`` by field."""
    _require_write(actor, person)
    refuse_erased(person.id)
    youth = YouthRecord(person=person, **fields)
    _check_supervisors(youth)
    return writing.create(youth, actor=actor, action=Action.YOUTH_WRITE, now=now)


@transaction.atomic
def change_youth(
    *, actor: Actor, youth: YouthRecord, changes: Mapping[str, Any], now: datetime
) -> YouthRecord:
    """Change until when, or who supervises."""
    _require_write(actor, youth.person)
    for name, value in changes.items():
        setattr(youth, name, value)
    _check_supervisors(youth)
    youth.refresh_from_db()
    return writing.change(youth, changes, actor=actor, action=Action.YOUTH_WRITE, now=now)


def is_youth(person_id: UUID, *, on: date) -> bool:
    """Whether somebody counts as a young hunter on a day."""
    return YouthRecord.objects.filter(person=person_id, youth_until__gte=on).exists()


def _require_write(actor: Actor, person: Person) -> None:
    reached = persons_within_reach(actor=actor, action=Action.YOUTH_WRITE)
    if not reached.filter(id=person.id).exists():
        raise PermissionDenied(f"{Action.YOUTH_WRITE} is not allowed to you for this person")


def _check_supervisors(youth: YouthRecord) -> None:
    for field in ("supervisor", "other_supervisor"):
        adult = getattr(youth, field)
        if adult is None:
            continue
        if adult.cooperative_id != youth.person.cooperative_id or adult.host_id is not None:
            raise ValidationError({field: "Must be somebody who belongs to the cooperative."})
        if YouthRecord.objects.filter(person=adult, youth_until__gte=youth.youth_until).exists():
            raise ValidationError({field: "Counts as a young hunter too."})
