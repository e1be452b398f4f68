"""Who sees what of trouble: managers all, reporters their own, landowners what was released."""

from collections.abc import Iterable
from uuid import UUID

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped, scoped_with_own
from properties.incidents.models import Equipment, EvidenceFile, FollowUp, Incident


def incidents_visible_to(
    *, actor: Actor, action: Action = Action.INCIDENT_READ
) -> QuerySet[Incident]:
    """Those of one's properties for whoever may read them, and what one reported oneself."""
    return scoped_with_own(Incident.objects.all(), actor=actor, action=action, own=("reported_by",))


def incidents_managed_by(*, actor: Actor) -> QuerySet[Incident]:
    """Without one's own reports: what one may link other things to."""
    return scoped(Incident.objects.all(), actor=actor, action=Action.INCIDENT_READ)


def told_incidents_visible_to(
    *, actor: Actor, action: Action = Action.INCIDENT_TOLD
) -> QuerySet[Incident]:
    """Those that a manager released to the landowner."""
    return scoped(Incident.objects.exclude(told_at=None), actor=actor, action=action)


def follow_ups_visible_to(
    *, actor: Actor, action: Action = Action.INCIDENT_READ
) -> QuerySet[FollowUp]:
    return scoped(FollowUp.objects.all(), actor=actor, action=action, field="incident__property")


def files_visible_to(
    *, actor: Actor, action: Action = Action.INCIDENT_READ
) -> QuerySet[EvidenceFile]:
    """All of one's properties for whoever may read them, and what one uploaded oneself."""
    return scoped_with_own(
        EvidenceFile.objects.all(),
        actor=actor,
        action=action,
        own=("uploaded_by",),
        field="incident__property",
    )


def equipment_visible_to(
    *, actor: Actor, action: Action = Action.EQUIPMENT_READ
) -> QuerySet[Equipment]:
    return scoped(Equipment.objects.all(), actor=actor, action=action)


def told_of_properties(*, property_ids: Iterable[UUID]) -> QuerySet[Incident]:
    """Released incidents, for reports to landowners, in order of time."""
    rows = Incident.objects.filter(property__in=property_ids).exclude(told_at=None)
    return rows.order_by("happened_at", "id")
