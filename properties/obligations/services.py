"""Write dues and work days."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.obligations.models import Due, WorkDay
from properties.people.models import Person


@transaction.atomic
def create_due(*, actor: Actor, person: Person, fields: Mapping[str, Any], now: datetime) -> Due:
    """Record what somebody owes for a year; raises ``ValidationError`` by field."""
    actor.require_in_cooperative(Action.DUE_WRITE, person.cooperative_id)
    if person.host_id is not None:
        raise ValidationError({"person": "A guest owes no dues."})
    due = Due(person=person, **fields)
    _check_paid(due.paid_on, now)
    return writing.create(due, actor=actor, action=Action.DUE_WRITE, now=now)


@transaction.atomic
def change_due(*, actor: Actor, due: Due, changes: Mapping[str, Any], now: datetime) -> Due:
    """Change an amount or its date, or say when it was paid."""
    actor.require_in_cooperative(Action.DUE_WRITE, due.person.cooperative_id)
    _check_paid(changes.get("paid_on"), now)
    return writing.change(due, changes, actor=actor, action=Action.DUE_WRITE, now=now)


@transaction.atomic
def record_work_day(
    *, actor: Actor, land: Property, person: Person, fields: Mapping[str, Any], now: datetime
) -> WorkDay:
    """Record that somebody worked on a property; whoever records it knows it."""
    actor.require(Action.WORK_DAY_WRITE, land.id)
    if person.cooperative_id != land.cooperative_id:
        raise ValidationError({"person": "Belongs to another cooperative."})
    work = WorkDay(property=land, person=person, **fields)
    if work.worked_on > local_date_on(land, now):
        raise ValidationError({"worked_on": "Lies in the future."})
    return writing.create(
        work, actor=actor, action=Action.WORK_DAY_WRITE, now=now, property_id=land.id
    )


@transaction.atomic
def withdraw_work_day(*, actor: Actor, work: WorkDay, reason: str, now: datetime) -> WorkDay:
    """It was entered in error and counts no more. Twice changes nothing."""
    actor.require(Action.WORK_DAY_WRITE, work.property_id)
    work = WorkDay.objects.select_for_update().get(id=work.id)
    if work.withdrawn_at is None:
        writing.change(
            work,
            {"withdrawn_at": now},
            actor=actor,
            action=Action.WORK_DAY_WRITE,
            now=now,
            property_id=work.property_id,
            reason=reason,
        )
    return work


def _check_paid(paid_on: Any, now: datetime) -> None:
    # A day ahead of UTC somewhere it is tomorrow already.
    if paid_on is not None and paid_on > (now + timedelta(days=1)).date():
        raise ValidationError({"paid_on": "Lies in the future."})
