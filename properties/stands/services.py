"""Write stands: place, routes, opening and closing, inspections, exclusions."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from shapely.geometry import Point

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import Refused
from coop.audit import services as audit
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.positions import InvalidGeometry
from properties.land.services import PROPERTY_CHANGED
from properties.land.setting_columns import with_settings
from properties.stands import placement, queries
from properties.stands.models import Inspection, Stand, StandExclusion

STAND_CLOSED = "stand.closed"
STAND_OPENED = "stand.opened"


@transaction.atomic
def create_stand(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> Stand:
    """Add a stand; ``geometry`` is its GeoJSON Point. Raises ``ValidationError`` by field.

    A stand is on the property's map: whoever follows the map hears of it as of a feature.
    """
    actor.require(Action.STAND_WRITE, land.id)
    _check_seat_height(fields, kind=fields["kind"])
    stand = Stand(property=land)
    for name, value in _columns(stand, fields).items():
        setattr(stand, name, value)
    writing.create(stand, actor=actor, action=Action.STAND_WRITE, now=now, property_id=land.id)
    _check_off_the_ground(stand)
    _publish(PROPERTY_CHANGED, stand, now)
    return stand


@transaction.atomic
def change_stand(*, actor: Actor, stand: Stand, changes: Mapping[str, Any], now: datetime) -> Stand:
    """Change a stand; where it is moved, its routes must still lead to it."""
    actor.require(Action.STAND_WRITE, stand.property_id)
    if not stand.is_elevated():
        _check_seat_height(changes, kind=changes.get("kind", stand.kind))
    _write(actor, stand, _columns(stand, changes), now)
    if not changes.keys().isdisjoint({"kind", "seat_height_m"}):
        _check_off_the_ground(stand)
    _publish(PROPERTY_CHANGED, stand, now)
    return stand


def _check_seat_height(fields: Mapping[str, Any], *, kind: str) -> None:
    """Fits rest on the height of a seat off the ground; 0 m would be a guess of ours."""
    if Stand(kind=kind).is_elevated() and "seat_height_m" not in fields:
        raise ValidationError({"seat_height_m": "Say how high the seat is above the ground."})


def _check_off_the_ground(stand: Stand) -> None:
    """What was written, as a column holds it: a map may state a height as text."""
    if stand.is_elevated() and stand.seat_height_m == 0:
        sentence = "Must be above 0 m for every kind but a ground blind."
        raise ValidationError({"seat_height_m": sentence})


@transaction.atomic
def close_stand(*, actor: Actor, stand: Stand, reason: str, now: datetime) -> Stand:
    """Close a stand; the fact makes others cancel sits and tell people."""
    actor.require(Action.STAND_WRITE, stand.property_id)
    return _close(actor, _locked(stand), reason, now)


@transaction.atomic
def open_stand(*, actor: Actor, stand: Stand, reason: str, now: datetime) -> Stand:
    """Offer a stand again. Raises :class:`Refused` while its last inspection is a failed one."""
    actor.require(Action.STAND_WRITE, stand.property_id)
    stand = _locked(stand)
    _check_not_failed(stand)
    if stand.is_open or stand.retired_at is not None:
        return stand
    _write(actor, stand, {"is_open": True, "closed_reason": ""}, now, reason=reason)
    _publish(STAND_OPENED, stand, now)
    return stand


@transaction.atomic
def retire_stand(*, actor: Actor, stand: Stand, now: datetime) -> Stand:
    """Take a stand out of use for good; to whoever holds a sit there it is closed."""
    actor.require(Action.STAND_WRITE, stand.property_id)
    stand = _locked(stand)
    if stand.retired_at is not None:
        return stand
    _write(actor, stand, {"retired_at": now}, now)
    _publish(STAND_CLOSED, stand, now)
    return stand


@transaction.atomic
def record_inspection(
    *,
    actor: Actor,
    stand: Stand,
    inspected_on: date,
    inspected_by: str,
    passed: bool,
    notes: str,
    now: datetime,
) -> Inspection:
    """Keep an inspection. A failed one closes the stand, unless it has passed a later one.

    A passed one does not open a closed stand: somebody decides that.
    """
    actor.require(Action.STAND_WRITE, stand.property_id)
    stand = _locked(stand)
    _check_not_in_future(stand, inspected_on, now)
    inspection = Inspection(
        stand=stand,
        inspected_on=inspected_on,
        inspected_by=inspected_by or actor.name,
        passed=passed,
        notes=notes,
    )
    writing.create(
        inspection, actor=actor, action=Action.STAND_WRITE, now=now, property_id=stand.property_id
    )
    last = stand.last_inspected_on
    if passed and (last is None or inspected_on > last):
        _write(actor, stand, {"last_inspected_on": inspected_on}, now)
    if not passed and (last is None or inspected_on >= last):
        _close(actor, stand, f"Failed its inspection on {inspected_on:%d %b %Y}", now)
    return inspection


@transaction.atomic
def exclude(
    *, actor: Actor, first: Stand, second: Stand, reason: str, now: datetime
) -> StandExclusion:
    """State that two stands are not used in the same session, and why."""
    for stand in (first, second):
        actor.require(Action.STAND_WRITE, stand.property_id)
    if first.id == second.id:
        raise ValidationError({"second": "Must be another stand than the first."})
    lower, higher = sorted((first, second), key=lambda stand: stand.id)
    exclusion = StandExclusion(first=lower, second=higher, reason=reason)
    writing.create(
        exclusion,
        actor=actor,
        action=Action.STAND_WRITE,
        now=now,
        property_id=lower.property_id,
        reason=reason,
    )
    _publish(PROPERTY_CHANGED, lower, now)
    _publish(PROPERTY_CHANGED, higher, now)
    return exclusion


@transaction.atomic
def lift_exclusion(*, actor: Actor, exclusion: StandExclusion, now: datetime) -> None:
    """Let two stands be used together again."""
    stands = (exclusion.first, exclusion.second)
    for stand in stands:
        actor.require(Action.STAND_WRITE, stand.property_id)
    audit.record(
        actor=actor,
        action=Action.STAND_WRITE,
        target=exclusion,
        now=now,
        property_id=exclusion.first.property_id,
        before=audit.snapshot(exclusion),
        reason="lifted",
    )
    exclusion.delete()
    for stand in stands:
        _publish(PROPERTY_CHANGED, stand, now)


def _columns(stand: Stand, fields: Mapping[str, Any]) -> dict[str, Any]:
    columns = with_settings(fields, stored=stand.settings)
    name = columns.get("name", stand.name)
    if columns.keys().isdisjoint({"geometry", "approach_route", "exit_route"}):
        return columns
    ground = queries.ground_of(stand.property)
    if "geometry" in columns:
        place = _placed(
            "geometry", placement.stand_position, columns.pop("geometry"), name=name, ground=ground
        )
        columns |= {"longitude": place.x, "latitude": place.y}
    else:
        place = Point(stand.longitude, stand.latitude)
    for field, check in (
        ("approach_route", placement.approach_route),
        ("exit_route", placement.exit_route),
    ):
        # A route that stands has to lead to the place as it is now, too.
        route = columns.get(field, getattr(stand, field))
        if route is not None:
            columns[field] = _placed(field, check, route, name=name, stand=place, ground=ground)
    return columns


def _placed(field: str, check: Any, geometry: Any, **where: Any) -> Any:
    try:
        return check(geometry, **where)
    except InvalidGeometry as problem:
        raise ValidationError({field: str(problem)}) from problem


def _check_not_failed(stand: Stand) -> None:
    inspection = queries.last_inspection(stand=stand)
    if inspection is None or inspection.passed:
        return
    sentence = (
        f"{stand.name} failed its inspection on {inspection.inspected_on:%d %b %Y} "
        "and has passed none since."
    )
    raise Refused(
        sentence,
        refusals=[
            {
                "code": "inspection_failed",
                "sentence": sentence,
                "facts": {"failed_on": inspection.inspected_on.isoformat()},
            }
        ],
    )


def _check_not_in_future(stand: Stand, inspected_on: date, now: datetime) -> None:
    today = local_date_on(stand.property, now)
    if inspected_on > today:
        raise ValidationError({"inspected_on": f"Lies after today, {today:%d %b %Y} there."})


def _close(actor: Actor, stand: Stand, reason: str, now: datetime) -> Stand:
    was_open = stand.is_open
    _write(actor, stand, {"is_open": False, "closed_reason": reason}, now, reason=reason)
    if was_open:
        _publish(STAND_CLOSED, stand, now)
    return stand


def _locked(stand: Stand) -> Stand:
    return Stand.objects.select_for_update().get(id=stand.id)


def _write(
    actor: Actor, stand: Stand, columns: Mapping[str, Any], now: datetime, *, reason: str = ""
) -> None:
    writing.change(
        stand,
        columns,
        actor=actor,
        action=Action.STAND_WRITE,
        now=now,
        property_id=stand.property_id,
        reason=reason,
    )


def _publish(topic: str, stand: Stand, now: datetime) -> None:
    outbox.publish(topic=topic, ids={"stand": stand.id, "property": stand.property_id}, now=now)
