"""Hang cameras, take them down, move them. One camera never hangs in two places at a time."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Q

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import Problem
from coop.audit import writing
from properties.land.local_dates import shown_clock_on
from scrapes.cameras import guards
from scrapes.cameras.models import CameraUnit, Deployment
from scrapes.cameras.permission import check_permitted
from scrapes.sites.models import Scrape
from scrapes.sites.services import point_inside


class DeploymentsOverlap(Problem):
    """The camera hangs elsewhere in that time."""

    code = "deployments_overlap"
    title = "The camera hangs elsewhere in that time"


@transaction.atomic
def hang_camera(
    *,
    actor: Actor,
    camera: CameraUnit,
    scrape: Scrape,
    fields: Mapping[str, Any],
    now: datetime,
) -> Deployment:
    """Hang a camera at a scrape of its property.

    ``fields`` hold ``starts_at`` and maybe ``ends_at``, ``code``, ``geometry`` (a GeoJSON Point;
    the scrape's place where there is none), ``heading_deg``, ``height_m``. Raises
    ``ValidationError`` by field, :class:`DeploymentsOverlap`, and
    :class:`coop.api.problems.Refused` where regulations or the lease let no such camera
    hang on its first day, or today.
    """
    actor.require(Action.CAMERA_WRITE, camera.property_id)
    camera = _locked(camera)
    _check_in_use(camera, scrape)
    place = {"longitude": scrape.longitude, "latitude": scrape.latitude}
    deployment = Deployment(
        camera=camera, scrape=scrape, **{**place, **_columns(camera, fields, scrape.name)}
    )
    _check_free(deployment)
    _check_code(deployment)
    hangs_now = deployment.ends_at is None or deployment.ends_at > now
    instants = [deployment.starts_at, *([now] if hangs_now else [])]
    check_permitted(camera, transmits=camera.transmits, at=instants)
    with _overlaps_told(camera):
        return writing.create(
            deployment,
            actor=actor,
            action=Action.CAMERA_WRITE,
            now=now,
            property_id=camera.property_id,
        )


@transaction.atomic
def change_deployment(
    *, actor: Actor, deployment: Deployment, changes: Mapping[str, Any], now: datetime
) -> Deployment:
    """Correct a deployment; raises as :func:`hang_camera` does."""
    actor.require(Action.CAMERA_WRITE, deployment.camera.property_id)
    camera = _locked(deployment.camera)
    columns = _columns(camera, changes, deployment.scrape.name)
    wanted = Deployment.objects.get(id=deployment.id)
    for name, value in columns.items():
        setattr(wanted, name, value)
    _check_free(wanted)
    _check_code(wanted)
    with _overlaps_told(camera):
        return writing.change(
            deployment,
            columns,
            actor=actor,
            action=Action.CAMERA_WRITE,
            now=now,
            property_id=camera.property_id,
        )


@transaction.atomic
def take_down(*, actor: Actor, deployment: Deployment, at: datetime, now: datetime) -> Deployment:
    """End a deployment. Raises :class:`Problem` for one that has ended already."""
    actor.require(Action.CAMERA_WRITE, deployment.camera.property_id)
    deployment = Deployment.objects.select_for_update().get(id=deployment.id)
    if deployment.ends_at is not None:
        raise Problem(
            f"It was taken down on {_shown(deployment.camera, deployment.ends_at)}.",
            code="not_hanging",
        )
    if at <= deployment.starts_at:
        raise ValidationError({"at": "Lies before the camera was hung there."})
    return change_deployment(actor=actor, deployment=deployment, changes={"ends_at": at}, now=now)


@transaction.atomic
def move_camera(
    *,
    actor: Actor,
    deployment: Deployment,
    scrape: Scrape,
    at: datetime,
    fields: Mapping[str, Any],
    now: datetime,
) -> Deployment:
    """Take a camera down and hang it at another scrape in the same instant: both or neither."""
    ended = take_down(actor=actor, deployment=deployment, at=at, now=now)
    return hang_camera(
        actor=actor,
        camera=ended.camera,
        scrape=scrape,
        fields={**fields, "starts_at": at},
        now=now,
    )


def _columns(camera: CameraUnit, fields: Mapping[str, Any], name: str) -> dict[str, Any]:
    columns = dict(fields)
    if "geometry" in columns:
        longitude, latitude = point_inside(camera.property, columns.pop("geometry"), name=name)
        columns |= {"longitude": longitude, "latitude": latitude}
    return columns


def _locked(camera: CameraUnit) -> CameraUnit:
    return CameraUnit.objects.select_for_update().get(id=camera.id)


def _check_in_use(camera: CameraUnit, scrape: Scrape) -> None:
    if camera.property_id != scrape.property_id:
        raise ValidationError({"scrape": "Must be a scrape of the camera's property."})
    if camera.retired_at is not None:
        raise ValidationError({"camera": "Is retired."})
    if scrape.retired_at is not None:
        raise ValidationError({"scrape": "Is retired."})


def _check_free(deployment: Deployment) -> None:
    if deployment.ends_at is not None and deployment.ends_at <= deployment.starts_at:
        raise ValidationError({"ends_at": "Must lie after starts_at."})
    others = deployment.camera.deployments.exclude(id=deployment.id).filter(
        Q(ends_at=None) | Q(ends_at__gt=deployment.starts_at)
    )
    if deployment.ends_at is not None:
        others = others.filter(starts_at__lt=deployment.ends_at)
    other = others.select_related("scrape").order_by("starts_at").first()
    if other is not None:
        raise _overlap(deployment.camera, other)


def _check_code(deployment: Deployment) -> None:
    """Imports find a deployment by its code, so on one property it means one deployment."""
    if not deployment.code:
        return
    same = Deployment.objects.filter(
        code=deployment.code, camera__property_id=deployment.camera.property_id
    )
    if same.exclude(id=deployment.id).exists():
        raise ValidationError({"code": "Another deployment on this property has this code."})


def _overlap(camera: CameraUnit, other: Deployment) -> DeploymentsOverlap:
    until = "now on" if other.ends_at is None else _shown(camera, other.ends_at)
    return DeploymentsOverlap(
        f"{camera.name} hangs at {other.scrape.name} from "
        f"{_shown(camera, other.starts_at)} until {until}.",
        members={"deployment": str(other.id)},
    )


def _shown(camera: CameraUnit, instant: datetime) -> str:
    return shown_clock_on(camera.property, instant)


@contextmanager
def _overlaps_told(camera: CameraUnit) -> Iterator[None]:
    """The database has the last word on overlaps; it is passed on in plain words."""
    try:
        with transaction.atomic():
            yield
    except IntegrityError as error:
        if not guards.is_overlap(error):
            raise
        raise DeploymentsOverlap(f"{camera.name} hangs elsewhere in that time.") from error
