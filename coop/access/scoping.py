"""Querysets narrowed to what an actor may see; forgetting to narrow shows nothing."""

from functools import reduce
from operator import or_
from typing import TypeVar

from django.db.models import Model, Q, QuerySet

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


def scoped_with_own(
    queryset: QuerySet[Row],
    *,
    actor: Actor,
    action: Action,
    own: tuple[str, ...],
    own_action: Action | None = None,
    field: str = "property",
) -> QuerySet[Row]:
    """Rows within the actor's reach for ``action``, and the actor's own ones.

    A row is one's own if any of the columns ``own`` names one's person; with ``own_action``
    only where one's roles still allow that on its property.
    """
    if actor.is_system:
        return queryset
    seen = Q(**{f"{field}__in": actor.properties_for(action)})
    if actor.person_id is not None:
        mine = reduce(or_, (Q(**{column: actor.person_id}) for column in own))
        if own_action is not None:
            mine &= Q(**{f"{field}__in": actor.properties_for(own_action)})
        seen |= mine
    return queryset.filter(seen)


def scoped_to_cooperatives(
    queryset: QuerySet[Row], *, actor: Actor, action: Action, field: str = "cooperative"
) -> QuerySet[Row]:
    """Rows whose cooperative lies within the actor's reach for ``action``."""
    if actor.is_system:
        return queryset
    return queryset.filter(**{f"{field}__in": actor.cooperatives_for(action)})
