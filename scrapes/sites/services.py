"""Write scrapes and what is done at them. Deer check scrapes, so fits follow every change."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.geometry import parse_geometry
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.positions import InvalidGeometry
from properties.land.queries import boundary_of
from properties.land.services import PROPERTY_CHANGED
from scrapes.sites.models import Scrape, ScrapeEvent

RETIRED = "retired"


@transaction.atomic
def create_scrape(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> Scrape:
    """Map a scrape; ``geometry`` is its GeoJSON Point. Raises ``ValidationError`` by field."""
    actor.require(Action.SCRAPE_WRITE, land.id)
    _check_not_to_come("made_on", fields.get("made_on"), land, now)
    scrape = Scrape(property=land, **_columns(land, fields, name=fields["name"]))
    writing.create(scrape, actor=actor, action=Action.SCRAPE_WRITE, now=now, property_id=land.id)
    _publish(scrape, now)
    return scrape


@transaction.atomic
def change_scrape(
    *, actor: Actor, scrape: Scrape, changes: Mapping[str, Any], now: datetime
) -> Scrape:
    """Change a scrape, its branch or its place."""
    actor.require(Action.SCRAPE_WRITE, scrape.property_id)
    _check_not_to_come("made_on", changes.get("made_on"), scrape.property, now)
    name = changes.get("name", scrape.name)
    _write(actor, scrape, _columns(scrape.property, changes, name=name), now)
    _publish(scrape, now)
    return scrape


@transaction.atomic
def retire_scrape(*, actor: Actor, scrape: Scrape, now: datetime) -> Scrape:
    """Give a scrape up; its history stays, and says so."""
    actor.require(Action.SCRAPE_WRITE, scrape.property_id)
    scrape = Scrape.objects.select_for_update().get(id=scrape.id)
    if scrape.retired_at is not None:
        return scrape
    _write(actor, scrape, {"retired_at": now}, now)
    _record(
        actor, scrape, {"happened_on": local_date_on(scrape.property, now), "what": RETIRED}, now
    )
    _publish(scrape, now)
    return scrape


@transaction.atomic
def record_event(
    *,
    actor: Actor,
    scrape: Scrape,
    happened_on: date,
    what: str,
    now: datetime,
    notes: str = "",
) -> ScrapeEvent:
    """Keep what was done at a scrape; ``happened_on`` is a local date, not after today."""
    actor.require(Action.SCRAPE_WRITE, scrape.property_id)
    _check_not_to_come("happened_on", happened_on, scrape.property, now)
    fields = {"happened_on": happened_on, "what": what, "notes": notes}
    return _record(actor, scrape, fields, now)


def point_inside(land: Property, geometry: Any, *, name: str) -> tuple[float, float]:
    """Longitude and latitude of a GeoJSON Point on the property.

    Raises ``ValidationError`` under ``geometry``, naming the thing and what is wrong.
    """
    try:
        point = parse_geometry(
            geometry, feature=name, shapes=frozenset({"Point"}), within=boundary_of(land)
        )
    except InvalidGeometry as problem:
        raise ValidationError({"geometry": str(problem)}) from problem
    return point.x, point.y


def _check_not_to_come(field: str, day: date | None, land: Property, now: datetime) -> None:
    today = local_date_on(land, now)
    if day is not None and day > today:
        raise ValidationError({field: f"Lies after today, {today:%d %b %Y} there."})


def _columns(land: Property, fields: Mapping[str, Any], *, name: str) -> dict[str, Any]:
    columns = dict(fields)
    if "geometry" in columns:
        longitude, latitude = point_inside(land, columns.pop("geometry"), name=name)
        columns |= {"longitude": longitude, "latitude": latitude}
    return columns


def _record(actor: Actor, scrape: Scrape, fields: Mapping[str, Any], now: datetime) -> ScrapeEvent:
    return writing.create(
        ScrapeEvent(scrape=scrape, **fields),
        actor=actor,
        action=Action.SCRAPE_WRITE,
        now=now,
        property_id=scrape.property_id,
    )


def _write(actor: Actor, scrape: Scrape, columns: Mapping[str, Any], now: datetime) -> None:
    writing.change(
        scrape,
        columns,
        actor=actor,
        action=Action.SCRAPE_WRITE,
        now=now,
        property_id=scrape.property_id,
    )


def _publish(scrape: Scrape, now: datetime) -> None:
    outbox.publish(topic=PROPERTY_CHANGED, ids={"property": scrape.property_id}, now=now)
