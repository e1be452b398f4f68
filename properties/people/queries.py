"""Whom an actor may see, and which roles somebody holds."""

from collections import defaultdict
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet

from coop.access.actors import Actor, Grants
from coop.access.roles import Action, Role, roles_allowed
from coop.access.scoping import scoped
from properties.land.models import Property
from properties.land.units import UnitSystem
from properties.people.models import (
    Member,
    Outfitter,
    Paper,
    Person,
    PropertyShare,
    RoleGrant,
)


def grants_of_user(user_id: UUID) -> Grants:
    """The standing roles of the person behind an account; none for an account without one."""
    # Asked on every request, since a role that was revoked ends at once: so in one query.
    standing = RoleGrant.objects.filter(
        person__user=user_id, person__retired_at=None, revoked_at=None
    ).values_list("person_id", "role", "property_id", "cooperative_id", "property__cooperative_id")
    by_property: dict[UUID, set[Role]] = defaultdict(set)
    by_cooperative: dict[UUID, set[Role]] = defaultdict(set)
    coordinated: dict[UUID, set[Role]] = defaultdict(set)
    person_id = None
    for person_id, role, property_id, cooperative_id, of_property in standing:  # noqa: B007
        # Whoever belongs to one property of a cooperative may read the cooperative itself.
        by_cooperative[cooperative_id or of_property].add(Role(role))
        if property_id:
            by_property[property_id].add(Role(role))
        else:
            coordinated[cooperative_id].add(Role(role))
    if person_id is None:
        person_id = _person_without_roles(user_id)
        return Grants(person_id=person_id)
    if coordinated:
        everywhere = Property.objects.filter(cooperative__in=coordinated, retired_at=None)
        for cooperative_id, property_id in everywhere.values_list("cooperative_id", "id"):
            by_property[property_id] |= coordinated[cooperative_id]
    return Grants(
        person_id=person_id,
        by_property={key: frozenset(roles) for key, roles in by_property.items()},
        by_cooperative={key: frozenset(roles) for key, roles in by_cooperative.items()},
    )


def _person_without_roles(user_id: UUID) -> UUID | None:
    person = Person.objects.filter(user_id=user_id, retired_at=None)
    return person.values_list("id", flat=True).first()


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


def units_of(actor: Actor) -> UnitSystem:
    """The units of the reader's profile; US customary for a reader without one."""
    if actor.person_id is None:
        return UnitSystem.US
    return UnitSystem(Person.objects.values_list("units", flat=True).get(id=actor.person_id))


def persons_within_reach(*, actor: Actor, action: Action) -> QuerySet[Person]:
    """Persons with a role on a property where the actor may take ``action``, and their guests.

    A coordinator reaches everybody of the cooperative.
    """
    if actor.is_system:
        return Person.objects.all()
    standing = RoleGrant.objects.filter(
        property__in=actor.properties_for(action), revoked_at=None
    ).values("person_id")
    reached = Q(id__in=standing) | Q(host__in=standing)
    if Role.COORDINATOR in roles_allowed(action):
        reached |= Q(cooperative__in=coordinated_by(actor))
    return Person.objects.filter(reached)


def belongs_beyond(*, actor: Actor, action: Action, person: Person) -> bool:
    """Whether somebody, or a guest's host, holds a role where the actor may not take ``action``."""
    if actor.is_system:
        return False
    if Role.COORDINATOR in roles_allowed(action) and person.cooperative_id in coordinated_by(actor):
        return False
    standing = RoleGrant.objects.filter(person=person.host_id or person.id, revoked_at=None)
    return standing.exclude(property__in=actor.properties_for(action)).exists()


def persons_visible_to(*, actor: Actor, action: Action = Action.PERSON_READ) -> QuerySet[Person]:
    """Whoever the actor reaches, the actor's own person and their guests."""
    reached = persons_within_reach(actor=actor, action=action)
    if actor.person_id is None:
        return reached
    return reached | Person.objects.filter(Q(id=actor.person_id) | Q(host=actor.person_id))


def persons_shown_to(*, actor: Actor) -> QuerySet[Person]:
    """Visible persons, each with ``contact_shown``: whether this actor may read how to
    reach them."""
    open_to_actor = persons_visible_to(actor=actor, action=Action.PERSON_CONTACT)
    return persons_visible_to(actor=actor).annotate(
        contact_shown=Exists(open_to_actor.filter(id=OuterRef("id")))
    )


def coordinated_by(actor: Actor) -> frozenset[UUID]:
    """Ids of the cooperatives that the actor coordinates."""
    return frozenset(
        cooperative_id
        for cooperative_id, roles in actor.grants.by_cooperative.items()
        if Role.COORDINATOR in roles
    )


def members_visible_to(*, actor: Actor, action: Action = Action.MEMBER_READ) -> QuerySet[Member]:
    """Memberships, with their share of the season: the manager's business and one's own."""
    return Member.objects.filter(person__in=persons_visible_to(actor=actor, action=action))


def papers_visible_to(*, actor: Actor, action: Action = Action.PERSON_CONTACT) -> QuerySet[Paper]:
    return Paper.objects.filter(person__in=persons_visible_to(actor=actor, action=action))


def guests_visible_to(*, actor: Actor) -> QuerySet[Person]:
    """Guests among the persons whose name the actor may see, whichever member is their host."""
    return persons_shown_to(actor=actor).filter(host__isnull=False)


def role_grants_visible_to(
    *, actor: Actor, action: Action = Action.ROLE_READ
) -> QuerySet[RoleGrant]:
    """Roles on properties within reach; who coordinates is shown to coordinators."""
    if actor.is_system:
        return RoleGrant.objects.all()
    return RoleGrant.objects.filter(
        Q(property__in=actor.properties_for(action))
        | Q(cooperative__in=actor.cooperatives_for(Action.ROLE_WRITE))
    )


def shares_visible_to(
    *, actor: Actor, action: Action = Action.OUTFITTER_READ
) -> QuerySet[PropertyShare]:
    return scoped(PropertyShare.objects.all(), actor=actor, action=action)


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
