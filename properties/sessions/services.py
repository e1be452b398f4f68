"""Write seasons: dates and weapons that a property's settings allow, never what the law does."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import services as audit
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.models import Property
from properties.sessions.models import Season
from properties.sessions.weapons import Weapon

SEASON_CHANGED = "season.changed"


@transaction.atomic
def create_season(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> Season:
    """Enter a season; raises ``ValidationError`` by field."""
    actor.require(Action.SEASON_WRITE, land.id)
    season = Season(property=land, **fields)
    _check(first_on=season.first_on, last_on=season.last_on, weapons=season.weapons)
    writing.create(season, actor=actor, action=Action.SEASON_WRITE, now=now, property_id=land.id)
    _publish(season, now)
    return season


@transaction.atomic
def change_season(
    *, actor: Actor, season: Season, changes: Mapping[str, Any], now: datetime
) -> Season:
    """Change a season's dates, weapons or source."""
    actor.require(Action.SEASON_WRITE, season.property_id)
    _check(
        first_on=changes.get("first_on", season.first_on),
        last_on=changes.get("last_on", season.last_on),
        weapons=changes.get("weapons", season.weapons),
    )
    writing.change(
        season,
        changes,
        actor=actor,
        action=Action.SEASON_WRITE,
        now=now,
        property_id=season.property_id,
    )
    _publish(season, now)
    return season


@transaction.atomic
def delete_season(*, actor: Actor, season: Season, now: datetime) -> None:
    """Take a season out; nothing rests on its row, and the record keeps what it said."""
    actor.require(Action.SEASON_WRITE, season.property_id)
    audit.record(
        actor=actor,
        action=Action.SEASON_WRITE,
        target=season,
        now=now,
        property_id=season.property_id,
        before=audit.snapshot(season),
        reason="deleted",
    )
    _publish(season, now)
    season.delete()


def _check(*, first_on: date, last_on: date, weapons: Iterable[str]) -> None:
    if first_on > last_on:
        raise ValidationError({"last_on": "Must not lie before first_on."})
    unknown = sorted(set(weapons) - set(Weapon))
    if unknown:
        raise ValidationError(
            {"weapons": f"Unknown: {', '.join(unknown)}; known: {', '.join(Weapon)}."}
        )


def _publish(season: Season, now: datetime) -> None:
    outbox.publish(
        topic=SEASON_CHANGED, ids={"season": season.id, "property": season.property_id}, now=now
    )
