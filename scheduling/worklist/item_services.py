"""Add, move, skip, finish and reopen items; add, change and take out templates."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import Problem, WrongOrder
from coop.audit import writing
from properties.land.models import Property
from properties.land.years import checked_month_day
from scheduling.worklist.findings import CAMERA, ERRAND, INSPECTION, origin_of
from scheduling.worklist.models import WorkItem, WorkState, WorkTemplate
from scheduling.worklist.weeks import Anchor, week_on

Row = TypeVar("Row", WorkItem, WorkTemplate)

_DONE_AT_ITS_PLACE = {
    ERRAND: "finish the errand",
    INSPECTION: "record the inspection on the stand",
    CAMERA: "see to the camera, and record that",
}


@transaction.atomic
def add_item(*, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime) -> WorkItem:
    """Add a piece of work by hand; its week is that of ``due_on``."""
    actor.require(Action.WORKLIST_WRITE, land.id)
    item = WorkItem(property=land, week_on=week_on(fields["due_on"]), moved_at=now, **fields)
    return writing.create(
        item, actor=actor, action=Action.WORKLIST_WRITE, now=now, property_id=land.id
    )


@transaction.atomic
def move_item(*, actor: Actor, item: WorkItem, due_on: date, now: datetime) -> WorkItem:
    """Put an open item into the week of another day, where it stays."""
    locked = _locked(actor, item, WorkState.OPEN)
    changes = {"due_on": due_on, "week_on": week_on(due_on), "moved_at": now}
    return _change(actor, locked, changes, now)


@transaction.atomic
def finish_item(*, actor: Actor, item: WorkItem, note: str, now: datetime) -> WorkItem:
    """It was done, by whoever says so. What a fact asks for is done where the fact stands:
    raises :class:`Problem` that says where."""
    locked = _locked(actor, item, WorkState.OPEN)
    place = _DONE_AT_ITS_PLACE.get(origin_of(locked.origin_key))
    if place is not None:
        raise Problem(
            f"Its state follows from its cause: {place}; the list follows.",
            code="done_at_its_place",
        )
    changes = {
        "state": WorkState.DONE,
        "done_at": now,
        "done_by_id": actor.person_id,
        "note": note,
    }
    return _change(actor, locked, changes, now)


@transaction.atomic
def skip_item(*, actor: Actor, item: WorkItem, note: str, now: datetime) -> WorkItem:
    """It is not done this time."""
    locked = _locked(actor, item, WorkState.OPEN)
    return _change(actor, locked, {"state": WorkState.SKIPPED, "note": note}, now)


@transaction.atomic
def reopen_item(*, actor: Actor, item: WorkItem, now: datetime) -> WorkItem:
    """What was skipped or finished by mistake is open again."""
    locked = _locked(actor, item, WorkState.SKIPPED, WorkState.DONE)
    changes = {"state": WorkState.OPEN, "done_at": None, "done_by": None, "note": ""}
    return _change(actor, locked, changes, now)


@transaction.atomic
def add_template(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> WorkTemplate:
    """Add a line to the year; raises ``ValidationError`` by field."""
    actor.require(Action.WORKLIST_WRITE, land.id)
    template = WorkTemplate(property=land, **fields)
    _check(template)
    return writing.create(
        template, actor=actor, action=Action.WORKLIST_WRITE, now=now, property_id=land.id
    )


@transaction.atomic
def change_template(
    *, actor: Actor, template: WorkTemplate, changes: Mapping[str, Any], now: datetime
) -> WorkTemplate:
    """Its open items follow when the list is written again."""
    actor.require(Action.WORKLIST_WRITE, template.property_id)
    for name, value in changes.items():
        setattr(template, name, value)
    _check(template)
    template.refresh_from_db()
    return _change(actor, template, changes, now)


@transaction.atomic
def retire_template(*, actor: Actor, template: WorkTemplate, now: datetime) -> WorkTemplate:
    """Take a line out of the year; its open items fall away when the list is written again."""
    actor.require(Action.WORKLIST_WRITE, template.property_id)
    if template.retired_at is not None:
        return template
    return _change(actor, template, {"retired_at": now}, now)


def _check(template: WorkTemplate) -> None:
    if template.anchor != Anchor.DAY:
        if template.month_day:
            raise ValidationError({"month_day": "Only a day of the year has one."})
        return
    try:
        checked_month_day(template.month_day)
    except ValueError as problem:
        raise ValidationError({"month_day": str(problem)}) from problem


def _locked(actor: Actor, item: WorkItem, *states: WorkState) -> WorkItem:
    actor.require(Action.WORKLIST_WRITE, item.property_id)
    locked = WorkItem.objects.select_for_update(of=("self",)).get(id=item.id)
    if locked.state not in states:
        raise WrongOrder(f"The item is {locked.get_state_display().lower()}.")
    return locked


def _change(actor: Actor, row: Row, changes: Mapping[str, Any], now: datetime) -> Row:
    return writing.change(
        row,
        changes,
        actor=actor,
        action=Action.WORKLIST_WRITE,
        now=now,
        property_id=row.property_id,
    )
