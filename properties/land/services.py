"""Write land: properties, features, closures. Geometry is checked before anything is stored."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.db import transaction
from shapely.geometry.base import BaseGeometry

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.exchange import SHAPES, PlaceKind
from properties.land.geodesy import area_m2
from properties.land.geometry import InvalidGeometry, parse_geometry, to_geojson
from properties.land.local_dates import local_date_on
from properties.land.models import Closure, ClosurePurpose, Cooperative, Feature, Property
from properties.land.queries import boundary_of
from properties.land.setting_columns import with_settings

PROPERTY_CLOSED = "property.closed"
PROPERTY_OPENED = "property.opened"
PROPERTY_CHANGED = "property.changed"


@transaction.atomic
def change_cooperative(
    *, actor: Actor, cooperative: Cooperative, changes: Mapping[str, Any], now: datetime
) -> Cooperative:
    """Rename a cooperative or change some settings; raises ``ValidationError`` by field."""
    actor.require_in_cooperative(Action.COOPERATIVE_WRITE, cooperative.id)
    columns = with_settings(changes, stored=cooperative.settings)
    return writing.change(
        cooperative, columns, actor=actor, action=Action.COOPERATIVE_WRITE, now=now
    )


@transaction.atomic
def create_property(
    *, actor: Actor, cooperative: Cooperative, fields: Mapping[str, Any], now: datetime
) -> Property:
    """Add a property with its boundary; raises ``ValidationError`` by field."""
    actor.require_in_cooperative(Action.COOPERATIVE_WRITE, cooperative.id)
    land = Property(cooperative=cooperative, **_property_columns(fields, settings={}))
    writing.create(land, actor=actor, action=Action.PROPERTY_WRITE, now=now, property_id=land.id)
    outbox.publish(topic=PROPERTY_CHANGED, ids={"property": land.id}, now=now)
    return land


@transaction.atomic
def change_property(
    *, actor: Actor, land: Property, changes: Mapping[str, Any], now: datetime
) -> Property:
    """Change a property; what is mapped on it must still lie inside a new boundary."""
    actor.require(Action.PROPERTY_WRITE, land.id)
    columns = _property_columns(changes, settings=land.settings)
    if "boundary" in columns:
        _check_features_inside(land, parse_geometry(columns["boundary"]))
    writing.change(
        land, columns, actor=actor, action=Action.PROPERTY_WRITE, now=now, property_id=land.id
    )
    outbox.publish(topic=PROPERTY_CHANGED, ids={"property": land.id}, now=now)
    return land


@transaction.atomic
def create_feature(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> Feature:
    """Map something on a property; raises ``ValidationError`` for a geometry that cannot be."""
    actor.require(Action.FEATURE_WRITE, land.id)
    feature = Feature(property=land, **_feature_columns(land, fields, kind=fields["kind"]))
    writing.create(feature, actor=actor, action=Action.FEATURE_WRITE, now=now, property_id=land.id)
    outbox.publish(topic=PROPERTY_CHANGED, ids={"property": land.id}, now=now)
    return feature


@transaction.atomic
def change_feature(
    *, actor: Actor, feature: Feature, changes: Mapping[str, Any], now: datetime
) -> Feature:
    """Change a mapped feature or its geometry."""
    actor.require(Action.FEATURE_WRITE, feature.property_id)
    kind = changes.get("kind", feature.kind)
    # A new kind has to suit the geometry that stands, too.
    fields = {"geometry": feature.geometry, **changes}
    writing.change(
        feature,
        _feature_columns(feature.property, fields, kind=kind),
        actor=actor,
        action=Action.FEATURE_WRITE,
        now=now,
        property_id=feature.property_id,
    )
    outbox.publish(topic=PROPERTY_CHANGED, ids={"property": feature.property_id}, now=now)
    return feature


@transaction.atomic
def retire_feature(*, actor: Actor, feature: Feature, now: datetime) -> Feature:
    """Take a feature off the map; its history stays."""
    actor.require(Action.FEATURE_WRITE, feature.property_id)
    writing.change(
        feature,
        {"retired_at": now},
        actor=actor,
        action=Action.FEATURE_WRITE,
        now=now,
        property_id=feature.property_id,
    )
    outbox.publish(topic=PROPERTY_CHANGED, ids={"property": feature.property_id}, now=now)
    return feature


@transaction.atomic
def close_property(
    *,
    actor: Actor,
    land: Property,
    first_on: date,
    last_on: date,
    reason: str,
    now: datetime,
    purpose: str = ClosurePurpose.OTHER,
    part: Mapping[str, Any] | None = None,
    feature: Feature | None = None,
    session_kind: str = "",
) -> Closure:
    """Close a property, or a part of it, for days; others cancel sits and tell people.

    The part is drawn (a GeoJSON area) or a mapped feature, not both. The last day is today by
    the property's calendar, or later. Raises ``ValidationError`` by field.
    """
    actor.require(Action.CLOSURE_WRITE, land.id)
    if last_on < first_on:
        raise ValidationError({"last_on": "Lies before the first day."})
    if last_on < local_date_on(land, now):
        raise ValidationError({"last_on": "Has passed already."})
    closure = Closure(
        property=land,
        first_on=first_on,
        last_on=last_on,
        purpose=purpose,
        reason=reason,
        part=_closed_part(land, part, feature),
        feature=feature,
        session_kind=session_kind,
    )
    writing.create(
        closure,
        actor=actor,
        action=Action.CLOSURE_WRITE,
        now=now,
        property_id=land.id,
        reason=reason,
    )
    outbox.publish(topic=PROPERTY_CLOSED, ids={"property": land.id, "closure": closure.id}, now=now)
    return closure


@transaction.atomic
def lift_closure(*, actor: Actor, closure: Closure, now: datetime) -> Closure:
    """Open the property again before the closure's last day."""
    actor.require(Action.CLOSURE_WRITE, closure.property_id)
    if closure.lifted_at is None:
        writing.change(
            closure,
            {"lifted_at": now},
            actor=actor,
            action=Action.CLOSURE_WRITE,
            now=now,
            property_id=closure.property_id,
        )
        outbox.publish(
            topic=PROPERTY_OPENED,
            ids={"property": closure.property_id, "closure": closure.id},
            now=now,
        )
    return closure


def _property_columns(
    fields: Mapping[str, Any], *, settings: Mapping[str, Mapping[str, Any]]
) -> dict[str, Any]:
    columns = with_settings(fields, stored=settings)
    if "time_zone" in columns and columns["time_zone"] not in available_timezones():
        raise ValidationError({"time_zone": "Must be a name of the IANA time zone database."})
    if "boundary" in columns:
        area = _parsed(columns["boundary"], PlaceKind.BOUNDARY, name="boundary", field="boundary")
        centre = area.representative_point()
        columns |= _extent(area)
        columns |= {
            "boundary": to_geojson(area),
            "area_m2": area_m2(area),
            "longitude": round(centre.x, 6),
            "latitude": round(centre.y, 6),
        }
    return columns


def _feature_columns(land: Property, fields: Mapping[str, Any], *, kind: str) -> dict[str, Any]:
    columns = dict(fields)
    if "geometry" in columns:
        shape = _parsed(
            columns["geometry"],
            kind,
            name=columns.get("name", "feature"),
            field="geometry",
            within=boundary_of(land),
        )
        columns |= {"geometry": to_geojson(shape)} | _extent(shape)
    return columns


def _parsed(
    geometry: Any, kind: str, *, name: str, field: str, within: BaseGeometry | None = None
) -> BaseGeometry:
    try:
        return parse_geometry(geometry, feature=name, shapes=SHAPES.get(kind), within=within)
    except InvalidGeometry as problem:
        raise ValidationError({field: str(problem)}) from problem


def _closed_part(
    land: Property, part: Mapping[str, Any] | None, feature: Feature | None
) -> dict[str, Any] | None:
    if feature is not None:
        if part is not None:
            raise ValidationError({"part": "Draw the part or name a feature, not both."})
        if feature.property_id != land.id or feature.retired_at is not None:
            raise ValidationError({"feature": "Is not mapped on this property."})
        return dict(feature.geometry)
    if part is None:
        return None
    area = _parsed(part, PlaceKind.BOUNDARY, name="part", field="part")
    # Whoever draws by hand may draw over the fence; beyond it nothing is closed.
    if not area.intersects(boundary_of(land)):
        raise ValidationError({"part": "Lies outside the property."})
    return to_geojson(area)


def _extent(shape: BaseGeometry) -> dict[str, float]:
    west, south, east, north = shape.bounds
    return {"west": west, "south": south, "east": east, "north": north}


def _check_features_inside(land: Property, area: BaseGeometry) -> None:
    for feature in Feature.objects.filter(property=land, retired_at=None):
        _parsed(feature.geometry, feature.kind, name=feature.name, field="boundary", within=area)
