"""Dues and work days that an actor may see, and what is open of them.

Dues are their member's and the coordinator's alone; managers learn elsewhere whether
somebody is clear, and no more.
"""

from collections import defaultdict
from collections.abc import Collection
from datetime import date
from uuid import UUID

from django.db.models import Q, QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped_with_own
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.obligations.models import Due, WorkDay
from properties.obligations.settings import ObligationSettings


def dues_visible_to(*, actor: Actor, action: Action = Action.DUE_READ) -> QuerySet[Due]:
    """One's own, and for coordinators everybody's of their cooperative."""
    if actor.is_system:
        return Due.objects.all()
    shown = Q(person__cooperative__in=actor.cooperatives_for(action))
    if actor.person_id is not None:
        shown |= Q(person=actor.person_id)
    return Due.objects.filter(shown)


def work_days_visible_to(
    *, actor: Actor, action: Action = Action.WORK_DAY_READ
) -> QuerySet[WorkDay]:
    """One's own, and for managers those done on their properties."""
    return scoped_with_own(WorkDay.objects.all(), actor=actor, action=action, own=("person",))


def obligation_settings_of(land: Property) -> ObligationSettings:
    """The settings on a property, which comes with its cooperative."""
    return layered_settings.resolve(ObligationSettings, *setting_layers(land))


def open_dues(person_ids: Collection[UUID]) -> defaultdict[UUID, list[date]]:
    """For each person the dates by which dues were owed that are not paid; one query."""
    found: defaultdict[UUID, list[date]] = defaultdict(list)
    rows = Due.objects.filter(person__in=person_ids, paid_on=None, amount__gt=0)
    for person_id, due_on in rows.order_by("due_on").values_list("person_id", "due_on"):
        found[person_id].append(due_on)
    return found


def hours_worked(person_ids: Collection[UUID]) -> defaultdict[UUID, list[tuple[date, float]]]:
    """For each person the dates and hours of their work, on any property; one query."""
    found: defaultdict[UUID, list[tuple[date, float]]] = defaultdict(list)
    rows = WorkDay.objects.filter(person__in=person_ids, withdrawn_at=None).order_by("worked_on")
    for person_id, on, hours in rows.values_list("person_id", "worked_on", "hours"):
        found[person_id].append((on, float(hours)))
    return found
