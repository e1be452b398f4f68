"""Grant and revoke roles. What is revoked ends at once, since grants are read on each request."""

from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action, Role
from coop.api.problems import Problem
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.local_dates import local_date_on
from properties.land.models import Cooperative, Property
from properties.people.models import Member, Person, RoleGrant

ROLE_REVOKED = "role.revoked"


class LastCoordinator(Problem):
    """Nobody would be left who can grant a role."""

    code = "last_coordinator"
    title = "A cooperative keeps a coordinator"


@transaction.atomic
def grant_role(
    *,
    actor: Actor,
    person: Person,
    role: Role,
    land: Property | None = None,
    cooperative: Cooperative | None = None,
    now: datetime,
) -> RoleGrant:
    """Give a person a role: coordinator of a cooperative, any other on one property.

    A first member role also begins the membership. Raises ``ValidationError`` by field.
    """
    _require_role_write(actor, land=land, cooperative=cooperative)
    check_grant(person, role, land, cooperative)
    grant = RoleGrant(person=person, role=role, property=land, cooperative=cooperative)
    writing.create(
        grant,
        actor=actor,
        action=Action.ROLE_WRITE,
        now=now,
        property_id=land.id if land else None,
    )
    if role is Role.MEMBER and land is not None:
        _begin_membership(actor, person, land, now)
    return grant


@transaction.atomic
def revoke_role(*, actor: Actor, grant: RoleGrant, now: datetime) -> RoleGrant:
    """End a role; the fact lets rooms above release what rested on it.

    Raises :class:`LastCoordinator`. Revoking twice changes nothing.
    """
    grant = RoleGrant.objects.select_for_update().get(id=grant.id)
    _require_role_write(actor, land=grant.property, cooperative=grant.cooperative)
    if grant.revoked_at is not None:
        return grant
    _check_coordinator_remains(grant)
    writing.change(
        grant,
        {"revoked_at": now},
        actor=actor,
        action=Action.ROLE_WRITE,
        now=now,
        property_id=grant.property_id,
    )
    ids = {"role_grant": grant.id, "person": grant.person_id}
    if grant.property_id:
        ids["property"] = grant.property_id
    elif grant.cooperative_id:
        ids["cooperative"] = grant.cooperative_id
    outbox.publish(topic=ROLE_REVOKED, ids=ids, now=now)
    return grant


@transaction.atomic
def retire_person(*, actor: Actor, person: Person, now: datetime) -> Person:
    """Somebody leaves: every role ends at once, and the account opens nothing any more.

    Guests stay on record with their host. Raises :class:`LastCoordinator`.
    """
    actor.require_in_cooperative(Action.ROLE_WRITE, person.cooperative_id)
    person = Person.objects.select_for_update().get(id=person.id)
    if person.retired_at is not None:
        return person
    for grant in RoleGrant.objects.filter(person=person, revoked_at=None).order_by("id"):
        revoke_role(actor=actor, grant=grant, now=now)
    return writing.change(
        person, {"retired_at": now}, actor=actor, action=Action.PERSON_WRITE, now=now
    )


def _require_role_write(
    actor: Actor, *, land: Property | None, cooperative: Cooperative | None
) -> None:
    if land is not None:
        actor.require(Action.ROLE_WRITE, land.id)
    if cooperative is not None:
        actor.require_in_cooperative(Action.ROLE_WRITE, cooperative.id)


def check_grant(
    person: Person, role: Role, land: Property | None, cooperative: Cooperative | None
) -> None:
    """Raise ``ValidationError`` by field unless the person can hold the role there."""
    if role is Role.APPLICATION:
        raise ValidationError({"role": "An outfitter's application is given a share instead."})
    place, field, other = (
        (cooperative, "cooperative", land)
        if role is Role.COORDINATOR
        else (land, "property", cooperative)
    )
    if place is None or other is not None:
        raise ValidationError({field: f"The role {role} is held on one {field} and nothing else."})
    if person.host_id is not None or person.retired_at is not None:
        raise ValidationError({"person": "A guest or a retired person holds no role."})
    cooperative_id = place.id if isinstance(place, Cooperative) else place.cooperative_id
    if person.cooperative_id != cooperative_id:
        raise ValidationError({"person": "Belongs to another cooperative."})


def _begin_membership(actor: Actor, person: Person, land: Property, now: datetime) -> None:
    if Member.objects.filter(person=person).exists():
        return
    joined_on = local_date_on(land, now)
    member = Member(person=person, joined_on=joined_on)
    writing.create(member, actor=actor, action=Action.PERSON_WRITE, now=now)


def _check_coordinator_remains(grant: RoleGrant) -> None:
    if grant.role != Role.COORDINATOR or grant.cooperative_id is None:
        return
    # The cooperative's row is the lock: two coordinators must not revoke each other at once.
    Cooperative.objects.select_for_update().get(id=grant.cooperative_id)
    others = RoleGrant.objects.filter(
        role=Role.COORDINATOR,
        cooperative_id=grant.cooperative_id,
        revoked_at=None,
        person__retired_at=None,
    ).exclude(id=grant.id)
    if not others.exists():
        raise LastCoordinator("Make somebody else coordinator first.")
