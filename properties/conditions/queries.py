"""Conditions that an actor may see, and those that hold over a span of time."""

from collections.abc import Collection
from datetime import datetime
from uuid import UUID

from django.db.models import Q, QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.conditions.models import Condition


def conditions_visible_to(
    *, actor: Actor, action: Action = Action.CONDITION_READ
) -> QuerySet[Condition]:
    return scoped(Condition.objects.all(), actor=actor, action=action)


def standing_between(
    *, property_ids: Collection[UUID], starts_at: datetime, ends_at: datetime
) -> QuerySet[Condition]:
    """Conditions not withdrawn that touch the half-open span, in order of their beginning."""
    return (
        Condition.objects.filter(
            Q(ends_at=None) | Q(ends_at__gt=starts_at),
            property__in=property_ids,
            starts_at__lt=ends_at,
            withdrawn_at=None,
        )
        .select_related("property")
        .order_by("starts_at", "id")
    )


def touches(condition: Condition, starts_at: datetime, ends_at: datetime) -> bool:
    """Whether a condition holds at some instant of the half-open span."""
    return condition.starts_at < ends_at and (
        condition.ends_at is None or condition.ends_at > starts_at
    )
