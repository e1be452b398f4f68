"""Write seasons: dates and weapons that a property's settings allow, never what the law does."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from enum import StrEnum
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
from properties.sessions.seasons import DeerClass
from properties.sessions.weapons import Weapon

SEASON_CHANGED = "season.changed"


@transaction.atomic
def create_season(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> Season:
    """Enter a season with the page it was read on; raises ``ValidationError`` by field."""
    actor.require(Action.SEASON_WRITE, land.id)
    season = Season(property=land, entered_by=actor.name, entered_at=now, **fields)
    if not season.source_url:
        raise ValidationError({"source_url": "Name the state's page on which it was read."})
    _check(season)
    writing.create(season, actor=actor, action=Action.SEASON_WRITE, now=now, property_id=land.id)
    _publish(season, now)
    return season


@transaction.atomic
def change_season(
    *, actor: Actor, season: Season, changes: Mapping[str, Any], now: datetime
) -> Season:
    """Change what a season says or its source; it counts as entered anew."""
    actor.require(Action.SEASON_WRITE, season.property_id)
    wanted = Season.objects.get(id=season.id)
    for name, value in changes.items():
        setattr(wanted, name, value)
    _check(wanted)
    writing.change(
        season,
        {**changes, "entered_by": actor.name, "entered_at": now},
        actor=actor,
        action=Action.SEASON_WRITE,
        now=now,
        property_id=season.property_id,
    )
    _publish(season, now)
    return season


@transaction.atomic
def confirm_season(*, actor: Actor, season: Season, now: datetime) -> Season:
    """Somebody read the state's page again, and the season still stands as it is."""
    actor.require(Action.SEASON_WRITE, season.property_id)
    return writing.change(
        Season.objects.select_for_update(of=("self",)).get(id=season.id),
        {"confirmed_by": actor.name, "confirmed_at": now},
        actor=actor,
        action=Action.SEASON_WRITE,
        now=now,
        property_id=season.property_id,
    )


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


def _check(season: Season) -> None:
    if season.first_on > season.last_on:
        raise ValidationError({"last_on": "Must not lie before first_on."})
    _check_known("weapons", season.weapons, Weapon)
    _check_known("classes", season.classes, DeerClass)


def _check_known(field: str, given: Iterable[str], known: type[StrEnum]) -> None:
    unknown = sorted(set(given) - set(known))
    if unknown:
        raise ValidationError({field: f"Unknown: {', '.join(unknown)}; known: {', '.join(known)}."})


def _publish(season: Season, now: datetime) -> None:
    outbox.publish(
        topic=SEASON_CHANGED, ids={"season": season.id, "property": season.property_id}, now=now
    )
