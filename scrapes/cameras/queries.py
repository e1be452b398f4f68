"""Cameras, deployments and observations that an actor may see."""

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from scrapes.cameras.models import (
    CameraStatus,
    CameraUnit,
    Deployment,
    Observation,
    ObservationImport,
    ObservationSource,
    Outage,
)


def cameras_visible_to(
    *, actor: Actor, action: Action = Action.CAMERA_READ
) -> QuerySet[CameraUnit]:
    return scoped(CameraUnit.objects.all(), actor=actor, action=action)


def deployments_visible_to(
    *, actor: Actor, action: Action = Action.CAMERA_READ
) -> QuerySet[Deployment]:
    return scoped(Deployment.objects.all(), actor=actor, action=action, field="scrape__property")


def outages_visible_to(*, actor: Actor, action: Action = Action.CAMERA_READ) -> QuerySet[Outage]:
    return scoped(
        Outage.objects.all(), actor=actor, action=action, field="deployment__scrape__property"
    )


def statuses_visible_to(
    *, actor: Actor, action: Action = Action.CAMERA_READ
) -> QuerySet[CameraStatus]:
    return scoped(CameraStatus.objects.all(), actor=actor, action=action, field="camera__property")


def observations_visible_to(
    *, actor: Actor, action: Action = Action.OBSERVATION_READ
) -> QuerySet[Observation]:
    return scoped(
        Observation.objects.all(), actor=actor, action=action, field="deployment__scrape__property"
    )


def imports_visible_to(
    *, actor: Actor, action: Action = Action.OBSERVATION_READ
) -> QuerySet[ObservationImport]:
    return scoped(ObservationImport.objects.all(), actor=actor, action=action)


def sources_visible_to(
    *, actor: Actor, action: Action = Action.OBSERVATION_READ
) -> QuerySet[ObservationSource]:
    return scoped(ObservationSource.objects.all(), actor=actor, action=action)
