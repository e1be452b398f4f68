"""The register of equipment: enter, move, lend, miss, and tie what was stolen to the theft."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from properties.incidents.models import Equipment, EquipmentState, IncidentKind
from properties.land.models import Property


@transaction.atomic
def enter_equipment(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> Equipment:
    """Enter a thing of the property's; raises ``ValidationError`` by field."""
    actor.require(Action.EQUIPMENT_WRITE, land.id)
    thing = Equipment(property=land, **fields)
    _check(thing)
    return writing.create(
        thing, actor=actor, action=Action.EQUIPMENT_WRITE, now=now, property_id=land.id
    )


@transaction.atomic
def change_equipment(
    *, actor: Actor, thing: Equipment, changes: Mapping[str, Any], now: datetime
) -> Equipment:
    """A thing that is found again loses its tie to the theft unless it stays stolen."""
    actor.require(Action.EQUIPMENT_WRITE, thing.property_id)
    if changes.get("state", thing.state) != EquipmentState.STOLEN and "theft" not in changes:
        changes = {**changes, "theft": None}
    for name, value in changes.items():
        setattr(thing, name, value)
    _check(thing)
    thing.refresh_from_db()
    return _change(actor, thing, changes, now)


@transaction.atomic
def retire_equipment(*, actor: Actor, thing: Equipment, now: datetime) -> Equipment:
    """Worn out, sold or given up; twice changes nothing."""
    actor.require(Action.EQUIPMENT_WRITE, thing.property_id)
    if thing.retired_at is not None:
        return thing
    return _change(actor, thing, {"retired_at": now}, now)


def _check(thing: Equipment) -> None:
    problems: dict[str, str] = {}
    is_stolen = thing.state == EquipmentState.STOLEN
    if is_stolen and thing.theft is None:
        problems["theft"] = "Name the incident of the theft."
    if not is_stolen and thing.theft is not None:
        problems["theft"] = "Only what is stolen names a theft."
    if thing.theft is not None and (
        thing.theft.property_id != thing.property_id or thing.theft.kind != IncidentKind.THEFT
    ):
        problems["theft"] = "Must be a theft on this property."
    if thing.state == EquipmentState.LENT and thing.holder is None:
        problems["holder"] = "Say who has it."
    if problems:
        raise ValidationError(problems)


def _change(actor: Actor, thing: Equipment, changes: Mapping[str, Any], now: datetime) -> Equipment:
    return writing.change(
        thing,
        changes,
        actor=actor,
        action=Action.EQUIPMENT_WRITE,
        now=now,
        property_id=thing.property_id,
    )
