"""Querysets narrowed to what an actor may see; forgetting to narrow shows nothing."""

from typing import TypeVar

from django.db.models import Model, QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action

Row = TypeVar("Row", bound=Model)


def scoped(
    queryset: QuerySet[Row], *, actor: Actor, action: Action, field: str = "property"
) -> QuerySet[Row]:
    """Rows whose property (reached by ``field``) lies within the actor's reach for ``action``."""
    if actor.is_system:
        return queryset
    return queryset.filter(**{f"{field}__in": actor.properties_for(action)})


def scoped_to_cooperatives(
    queryset: QuerySet[Row], *, actor: Actor, action: Action, field: str = "cooperative"
) -> QuerySet[Row]:
    """Rows whose cooperative lies within the actor's reach for ``action``."""
    if actor.is_system:
        return queryset
    return queryset.filter(**{f"{field}__in": actor.cooperatives_for(action)})
