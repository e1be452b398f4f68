"""Sits, requests and harvests that an actor may see, and under which name."""

from datetime import date
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db.models import Q, QuerySet

from coop.access.actors import Actor, ActorKind
from coop.access.roles import Action
from coop.access.scoping import scoped, scoped_with_own
from properties.people.models import Person
from properties.people.queries import persons_within_reach
from scheduling.sits.harvest_models import HarvestPlace, Tag
from scheduling.sits.models import Harvest, HarvestPlan, Sit, SitRequest, SitState
from scheduling.sits.transfer_models import SitTransfer
from scheduling.sits.uses_queries import first_name


def sits_visible_to(*, actor: Actor, action: Action = Action.SIT_READ) -> QuerySet[Sit]:
    """One's own sits and one's guests'; a manager's all; an outfitter's those of its clients."""
    if actor.is_system:
        return Sit.objects.all()
    if actor.kind is ActorKind.APPLICATION:
        return Sit.objects.filter(
            outfitter__application=UUID(actor.id), property__in=actor.properties_for(action)
        )
    own = Q(property__in=actor.properties_for(Action.SIT_MANAGE))
    if actor.person_id is not None:
        own |= Q(person=actor.person_id) | Q(host=actor.person_id)
    return Sit.objects.filter(own)


def is_own_sit(actor: Actor, sit: Sit) -> bool:
    """Whether they sit there, bring the guest who does, or booked it for a client."""
    if actor.kind is ActorKind.APPLICATION:
        return sit.outfitter is not None and str(sit.outfitter.application_id) == actor.id
    return actor.is_one_of(sit.person_id, sit.host_id)


def roster_of(*, actor: Actor, property_id: UUID, local_date: date) -> QuerySet[Sit]:
    """Everybody's sits on a property and day, as far as the actor may read the roster there."""
    seated = Sit.objects.filter(property=property_id, local_date=local_date)
    return (
        scoped(seated, actor=actor, action=Action.ROSTER_READ)
        .exclude(state__in=[SitState.CANCELLED, SitState.MISSED])
        .select_related("stand", "person", "host", "outfitter")
        .order_by("starts_at", "stand__name", "id")
    )


def sees_full_names(*, actor: Actor, property_id: UUID) -> bool:
    """Landowners and managers know everybody on the ground by name; members by first name."""
    return actor.may(Action.REPORT_READ, property_id)


def name_shown(person: Person, *, actor: Actor, property_id: UUID) -> str:
    """The person's name as this actor may know it on a property."""
    return as_known(
        person.name, of=(person.id, person.host_id), actor=actor, property_id=property_id
    )


def as_known(
    name: str, *, of: tuple[UUID | None, UUID | None], actor: Actor, property_id: UUID
) -> str:
    """A name as this actor may know it on a property; ``of`` are the person's id and host's."""
    if actor.is_one_of(*of) or sees_full_names(actor=actor, property_id=property_id):
        return name
    return first_name(name)


def standing_of(sit: Sit) -> dict[str, str]:
    """As what somebody sits, and through whom, in full: for those who know everybody's name."""
    if sit.outfitter is not None:
        return {"standing": "client", "through": sit.outfitter.name}
    if sit.host is not None:
        return {"standing": "guest", "through": sit.host.name}
    return {"standing": "member", "through": ""}


def vehicle_of(sit: Sit) -> str:
    """What stands parked for a sit, as :func:`vehicle_for` its person and host."""
    return vehicle_for(sit.person, host=sit.host)


def vehicle_for(person: Person, *, host: Person | None) -> str:
    """What stands parked for somebody: their own vehicle, a guest's else their host's."""
    return person.vehicle or (host.vehicle if host is not None else "")


def requests_visible_to(
    *, actor: Actor, action: Action = Action.REQUEST_READ
) -> QuerySet[SitRequest]:
    """One's own wishes; a manager's all of the property."""
    return scoped_with_own(
        SitRequest.objects.all(),
        actor=actor,
        action=Action.SIT_MANAGE,
        own=("person",),
        own_action=action,
    )


def transfers_visible_to(
    *, actor: Actor, action: Action = Action.SIT_READ
) -> QuerySet[SitTransfer]:
    """Offers that one made or was made; a manager's all of the property."""
    return scoped_with_own(
        SitTransfer.objects.all(),
        actor=actor,
        action=Action.SIT_MANAGE,
        own=("giver", "receiver"),
        own_action=action,
    )


def own_person(actor: Actor) -> Person:
    """The person who acts; raises ``ValidationError`` for an actor who is none."""
    person = Person.objects.filter(id=actor.person_id).first() if actor.person_id else None
    if person is None:
        raise ValidationError({"person": "Name the person: you are no person here."})
    return person


def tags_visible_to(*, actor: Actor, action: Action = Action.TAG_READ) -> QuerySet[Tag]:
    """One's own tags and one's guests'; for managers those of their people good there."""
    if actor.is_system:
        return Tag.objects.all()
    reached = persons_within_reach(actor=actor, action=action)
    there = Q(property=None) | Q(property__in=actor.properties_for(action))
    seen = Q(person__in=reached) & there
    if actor.person_id is not None:
        seen |= Q(person=actor.person_id) | Q(person__host=actor.person_id)
    return Tag.objects.filter(seen)


def places_visible_to(*, actor: Actor, action: Action = Action.SIT_READ) -> QuerySet[HarvestPlace]:
    """What is kept for the sits that the actor may see."""
    return HarvestPlace.objects.filter(sit__in=sits_visible_to(actor=actor, action=action))


def harvests_visible_to(*, actor: Actor, action: Action = Action.HARVEST_READ) -> QuerySet[Harvest]:
    return scoped(Harvest.objects.all(), actor=actor, action=action)


def harvest_plans_visible_to(
    *, actor: Actor, action: Action = Action.HARVEST_READ
) -> QuerySet[HarvestPlan]:
    return scoped(HarvestPlan.objects.all(), actor=actor, action=action)
