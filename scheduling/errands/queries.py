"""Errands that an actor may see."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.conditions.queries import standing_between
from properties.conditions.words import condition_words
from properties.land.models import Property
from scheduling.errands.models import Errand, ErrandState
from scheduling.sits.models import STANDING_STATES, Sit


def errands_visible_to(*, actor: Actor, action: Action = Action.ERRAND_READ) -> QuerySet[Errand]:
    return scoped(Errand.objects.all(), actor=actor, action=action)


def errands_to_remind() -> QuerySet[Errand]:
    """Open errands of every property, the most urgent first."""
    return (
        Errand.objects.filter(state=ErrandState.OPEN)
        .select_related("property__cooperative", "assignee")
        .order_by("due_on", "id")
    )


def conditions_told(land: Property, *, starts_at: datetime, ends_at: datetime) -> tuple[str, ...]:
    """What was told of thunder, fire danger, water or ice on a property in a span, in words."""
    rows = standing_between(property_ids=[land.id], starts_at=starts_at, ends_at=ends_at)
    return tuple(condition_words(row) for row in rows)


def occupied_times(
    *, property_id: UUID, starts_at: datetime, ends_at: datetime
) -> Sequence[tuple[datetime, datetime]]:
    """The windows of standing sits on a property that touch a span of time."""
    return list(
        Sit.objects.filter(
            property_id=property_id,
            state__in=STANDING_STATES,
            starts_at__lt=ends_at,
            ends_at__gt=starts_at,
        ).values_list("starts_at", "ends_at")
    )
