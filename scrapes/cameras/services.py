"""Write camera units, outages, and signs of life."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import Problem
from coop.audit import writing
from properties.land.models import Property
from scrapes.cameras.models import CameraStatus, CameraUnit, Deployment, Outage
from scrapes.cameras.permission import check_permitted


@transaction.atomic
def create_camera(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> CameraUnit:
    """Add a camera to a property's stock; raises ``ValidationError`` by field."""
    actor.require(Action.CAMERA_WRITE, land.id)
    camera = CameraUnit(property=land, **fields)
    return writing.create(
        camera, actor=actor, action=Action.CAMERA_WRITE, now=now, property_id=land.id
    )


@transaction.atomic
def change_camera(
    *, actor: Actor, camera: CameraUnit, changes: Mapping[str, Any], now: datetime
) -> CameraUnit:
    """Change what is known of a camera; it stays at its property.

    Raises :class:`coop.api.problems.Refused` where one that hangs is to send its pictures and
    regulations or the lease forbid that.
    """
    actor.require(Action.CAMERA_WRITE, camera.property_id)
    begins_to_send = changes.get("transmits", False) and not camera.transmits
    if begins_to_send and camera.deployments.filter(ends_at=None).exists():
        check_permitted(camera, transmits=True, at=[now])
    return writing.change(
        camera,
        changes,
        actor=actor,
        action=Action.CAMERA_WRITE,
        now=now,
        property_id=camera.property_id,
    )


@transaction.atomic
def retire_camera(*, actor: Actor, camera: CameraUnit, now: datetime) -> CameraUnit:
    """Take a camera out of stock. Raises :class:`Problem` while it still hangs somewhere."""
    actor.require(Action.CAMERA_WRITE, camera.property_id)
    camera = CameraUnit.objects.select_for_update().get(id=camera.id)
    if camera.retired_at is not None:
        return camera
    if camera.deployments.filter(ends_at=None).exists():
        raise Problem(
            f"{camera.name} still hangs at a scrape: take it down first.", code="camera_is_hanging"
        )
    return change_camera(actor=actor, camera=camera, changes={"retired_at": now}, now=now)


@transaction.atomic
def record_outage(
    *, actor: Actor, deployment: Deployment, fields: Mapping[str, Any], now: datetime
) -> Outage:
    """State that a deployed camera did not work for a time; without an end it still does not."""
    land_id = deployment.scrape.property_id
    actor.require(Action.CAMERA_WRITE, land_id)
    outage = Outage(deployment=deployment, **fields)
    _check_within(outage)
    return writing.create(
        outage, actor=actor, action=Action.CAMERA_WRITE, now=now, property_id=land_id
    )


@transaction.atomic
def change_outage(
    *, actor: Actor, outage: Outage, changes: Mapping[str, Any], now: datetime
) -> Outage:
    """Correct an outage, or say when it ended."""
    land_id = outage.deployment.scrape.property_id
    actor.require(Action.CAMERA_WRITE, land_id)
    outage = writing.change(
        outage, changes, actor=actor, action=Action.CAMERA_WRITE, now=now, property_id=land_id
    )
    _check_within(outage)
    return outage


@transaction.atomic
def record_status(
    *, actor: Actor, camera: CameraUnit, fields: Mapping[str, Any], now: datetime
) -> CameraStatus:
    """Keep a heartbeat, or what was read when the card was pulled; not from the future."""
    actor.require(Action.CAMERA_WRITE, camera.property_id)
    status = CameraStatus(camera=camera, **{"reported_at": now, **fields})
    if status.reported_at > now:
        raise ValidationError({"reported_at": "Lies in the future."})
    return writing.create(
        status, actor=actor, action=Action.CAMERA_WRITE, now=now, property_id=camera.property_id
    )


def _check_within(outage: Outage) -> None:
    """An outage belongs to the time in which its camera hung there."""
    hung = outage.deployment
    if outage.starts_at < hung.starts_at:
        raise ValidationError({"starts_at": "Lies before the camera was hung there."})
    if hung.ends_at is None:
        return
    if outage.starts_at >= hung.ends_at:
        raise ValidationError({"starts_at": "Lies after the camera was taken down."})
    if outage.ends_at is not None and outage.ends_at > hung.ends_at:
        raise ValidationError({"ends_at": "Lies after the camera was taken down."})
