"""Keep the neighbours of a property and what they allow."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from properties.land.models import Property
from scheduling.tracking.models import Neighbour


@transaction.atomic
def add_neighbour(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> Neighbour:
    """Keep a neighbour and what they allow; raises ``ValidationError`` by field."""
    actor.require(Action.NEIGHBOUR_WRITE, land.id)
    row = Neighbour(property=land, **fields)
    return writing.create(
        row, actor=actor, action=Action.NEIGHBOUR_WRITE, now=now, property_id=land.id
    )


@transaction.atomic
def change_neighbour(
    *, actor: Actor, neighbour: Neighbour, changes: Mapping[str, Any], now: datetime
) -> Neighbour:
    """Change what is known of a neighbour; raises ``ValidationError`` by field."""
    actor.require(Action.NEIGHBOUR_WRITE, neighbour.property_id)
    return writing.change(
        neighbour,
        changes,
        actor=actor,
        action=Action.NEIGHBOUR_WRITE,
        now=now,
        property_id=neighbour.property_id,
    )


def retire_neighbour(*, actor: Actor, neighbour: Neighbour, now: datetime) -> Neighbour:
    """The ground has changed hands; twice changes nothing."""
    if neighbour.retired_at is not None:
        actor.require(Action.NEIGHBOUR_WRITE, neighbour.property_id)
        return neighbour
    return change_neighbour(actor=actor, neighbour=neighbour, changes={"retired_at": now}, now=now)
