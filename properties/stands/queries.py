"""Stands that an actor may see, and how much of them."""

from uuid import UUID

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import boundary_of, setting_layers
from properties.stands.models import Inspection, Stand, StandExclusion
from properties.stands.placement import Ground
from properties.stands.settings import StandSettings


def stands_visible_to(*, actor: Actor, action: Action = Action.STAND_READ) -> QuerySet[Stand]:
    return scoped(Stand.objects.all(), actor=actor, action=action)


def sees_details(*, actor: Actor, property_id: UUID) -> bool:
    """Whether routes, notes and reasons are shown: to those who see the property's map."""
    return actor.may(Action.FEATURE_READ, property_id)


def inspections_visible_to(
    *, actor: Actor, action: Action = Action.INSPECTION_READ
) -> QuerySet[Inspection]:
    return scoped(Inspection.objects.all(), actor=actor, action=action, field="stand__property")


def exclusions_visible_to(
    *, actor: Actor, action: Action = Action.EXCLUSION_READ
) -> QuerySet[StandExclusion]:
    """Exclusions of which both stands are seen; one alone would tell of the other."""
    first = scoped(
        StandExclusion.objects.all(), actor=actor, action=action, field="first__property"
    )
    return scoped(first, actor=actor, action=action, field="second__property")


def stands_of(*, property_id: UUID) -> QuerySet[Stand]:
    """Stands of a property that are not retired, in a stable order."""
    return Stand.objects.filter(property_id=property_id, retired_at=None).order_by("id")


def settings_of(land: Property) -> StandSettings:
    return layered_settings.resolve(StandSettings, *setting_layers(land))


def ground_of(land: Property) -> Ground:
    """What a stand's place and routes are checked against."""
    return Ground(area=boundary_of(land), settings=settings_of(land))


def last_inspection(*, stand: Stand) -> Inspection | None:
    """The latest inspection; of two on one day, the one recorded last."""
    return stand.inspections.order_by("-inspected_on", "-id").first()
