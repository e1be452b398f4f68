"""Keep how somebody's table is to be read."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from properties.land.models import Property
from scrapes.cameras.import_sources import stated_mapping
from scrapes.cameras.models import ObservationSource
from scrapes.cameras.observation_rows import ImportRefused


@transaction.atomic
def create_source(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> ObservationSource:
    """Keep a mapping under a name; raises ``ValidationError`` for one that means nothing."""
    actor.require(Action.OBSERVATION_WRITE, land.id)
    _check(fields)
    return writing.create(
        ObservationSource(property=land, **fields),
        actor=actor,
        action=Action.OBSERVATION_WRITE,
        now=now,
        property_id=land.id,
    )


@transaction.atomic
def change_source(
    *, actor: Actor, source: ObservationSource, changes: Mapping[str, Any], now: datetime
) -> ObservationSource:
    """Change a mapping or its name; what was imported by it stays as it is."""
    actor.require(Action.OBSERVATION_WRITE, source.property_id)
    _check(changes)
    return writing.change(
        source,
        changes,
        actor=actor,
        action=Action.OBSERVATION_WRITE,
        now=now,
        property_id=source.property_id,
    )


def _check(fields: Mapping[str, Any]) -> None:
    if "columns" not in fields:
        return
    try:
        stated_mapping(fields["columns"], zone=None)
    except ImportRefused as refused:
        raise ValidationError({"columns": refused.message}) from refused
