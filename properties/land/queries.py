"""Land that an actor may see."""

from uuid import UUID

from django.db.models import QuerySet
from shapely.geometry.base import BaseGeometry

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped, scoped_to_cooperatives
from properties.land.geometry import parse_geometry
from properties.land.models import Closure, Cooperative, Feature, Property


def cooperatives_visible_to(
    *, actor: Actor, action: Action = Action.COOPERATIVE_READ
) -> QuerySet[Cooperative]:
    return scoped_to_cooperatives(Cooperative.objects.all(), actor=actor, action=action, field="id")


def properties_visible_to(
    *, actor: Actor, action: Action = Action.PROPERTY_READ
) -> QuerySet[Property]:
    return scoped(Property.objects.all(), actor=actor, action=action, field="id")


def features_visible_to(*, actor: Actor, action: Action = Action.FEATURE_READ) -> QuerySet[Feature]:
    return scoped(Feature.objects.all(), actor=actor, action=action)


def closures_visible_to(*, actor: Actor, action: Action = Action.CLOSURE_READ) -> QuerySet[Closure]:
    return scoped(Closure.objects.all(), actor=actor, action=action)


def boundary_of(land: Property) -> BaseGeometry:
    """The property's area as a valid shapely geometry, in longitude and latitude."""
    return parse_geometry(land.boundary)


def setting_layers(land: Property) -> tuple[dict[str, dict[str, object]], ...]:
    """The stored settings that hold on a property, from the widest to the narrowest."""
    return land.cooperative.settings, land.settings


def features_of(*, property_id: UUID) -> QuerySet[Feature]:
    """What is mapped on a property and not retired, in a stable order."""
    return Feature.objects.filter(property_id=property_id, retired_at=None).order_by("id")
