"""Whom an actor may see, and which roles somebody holds."""

from collections import defaultdict
from uuid import UUID

from django.db.models import Q, QuerySet

from coop.access.actors import Actor, Grants
from coop.access.roles import Action, Role
from properties.land.models import Property
from properties.people.models import Outfitter, Person, PropertyShare, RoleGrant


def grants_of_user(user_id: UUID) -> Grants:
    """The standing roles of the person behind an account; none for an account without one."""
    person = Person.objects.filter(user_id=user_id, retired_at=None).first()
    if person is None:
        return Grants()
    by_property: dict[UUID, set[Role]] = defaultdict(set)
    by_cooperative: dict[UUID, set[Role]] = defaultdict(set)
    for role, property_id, cooperative_id in RoleGrant.objects.filter(
        person=person, revoked_at=None
    ).values_list("role", "property_id", "cooperative_id"):
        if property_id:
            by_property[property_id].add(Role(role))
        else:
            by_cooperative[cooperative_id].add(Role(role))
    for cooperative_id, property_id in Property.objects.filter(
        cooperative__in=by_cooperative, retired_at=None
    ).values_list("cooperative_id", "id"):
        by_property[property_id] |= by_cooperative[cooperative_id]
    # Whoever belongs to one property of a cooperative may read the cooperative itself.
    for cooperative_id, property_id in Property.objects.filter(id__in=by_property).values_list(
        "cooperative_id", "id"
    ):
        by_cooperative[cooperative_id] |= by_property[property_id]
    return Grants(
        person_id=person.id,
        by_property={key: frozenset(roles) for key, roles in by_property.items()},
        by_cooperative={key: frozenset(roles) for key, roles in by_cooperative.items()},
    )


def grants_of_application(application_id: UUID) -> Grants:
    """The properties shared with an outfitter's application, while the share stands."""
    shared = PropertyShare.objects.filter(
        outfitter__application_id=application_id,
        outfitter__retired_at=None,
        property__retired_at=None,
        revoked_at=None,
    ).values_list("property_id", flat=True)
    return Grants(
        by_property={property_id: frozenset({Role.APPLICATION}) for property_id in shared}
    )


def persons_visible_to(*, actor: Actor, action: Action = Action.PERSON_READ) -> QuerySet[Person]:
    """The actor, and whoever holds a role on a property where the actor may read persons."""
    if actor.is_system:
        return Person.objects.all()
    properties = actor.properties_for(action)
    on_property = RoleGrant.objects.filter(property__in=properties, revoked_at=None)
    seen = Q(id__in=on_property.values("person_id")) | Q(host__in=on_property.values("person_id"))
    coordinated = [
        cooperative_id
        for cooperative_id, roles in actor.grants.by_cooperative.items()
        if Role.COORDINATOR in roles
    ]
    seen |= Q(cooperative__in=coordinated)
    if actor.person_id:
        seen |= Q(id=actor.person_id) | Q(host=actor.person_id)
    return Person.objects.filter(seen)


def members_of(*, property_id: UUID) -> QuerySet[Person]:
    """Persons with a standing member or manager role on a property."""
    grants = RoleGrant.objects.filter(
        property_id=property_id, revoked_at=None, role__in=[Role.MEMBER, Role.MANAGER]
    )
    return Person.objects.filter(id__in=grants.values("person_id"), retired_at=None)


def holders_of(*, role: Role, property_id: UUID) -> QuerySet[Person]:
    """Persons who hold a role on a property; coordinators hold theirs through its cooperative."""
    grants = RoleGrant.objects.filter(role=role, revoked_at=None)
    if role is Role.COORDINATOR:
        grants = grants.filter(cooperative__properties=property_id)
    else:
        grants = grants.filter(property_id=property_id)
    return Person.objects.filter(id__in=grants.values("person_id"), retired_at=None)


def outfitters_visible_to(
    *, actor: Actor, action: Action = Action.OUTFITTER_READ
) -> QuerySet[Outfitter]:
    if actor.is_system:
        return Outfitter.objects.all()
    return Outfitter.objects.filter(
        Q(cooperative__in=actor.cooperatives_for(action))
        & (
            Q(shares__property__in=actor.properties_for(action))
            | Q(cooperative__in=actor.cooperatives_for(Action.OUTFITTER_WRITE))
        )
    ).distinct()
