"""Write persons, their guests, memberships and papers."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import NotAllowed
from coop.audit import writing
from properties.land.models import Cooperative
from properties.people.erased import refuse_erased
from properties.people.models import Member, Paper, Person
from properties.people.queries import belongs_beyond, persons_within_reach

OWN_FIELDS = frozenset(
    {"email", "phone", "vehicle", "units", "emergency_contact_name", "emergency_contact_phone"}
)
"""What people may change about themselves; a name is what the landowner is told."""


@transaction.atomic
def create_person(
    *, actor: Actor, cooperative: Cooperative, fields: Mapping[str, Any], now: datetime
) -> Person:
    """Add somebody to a cooperative, without any role yet."""
    actor.require_in_cooperative(Action.PERSON_CREATE, cooperative.id)
    person = Person(cooperative=cooperative, **fields)
    return writing.create(person, actor=actor, action=Action.PERSON_CREATE, now=now)


@transaction.atomic
def change_person(
    *, actor: Actor, person: Person, changes: Mapping[str, Any], now: datetime
) -> Person:
    """Change somebody within reach, one's own guest, or how oneself is reached.

    Raises :class:`PermissionDenied` for anybody else, and for one's own name;
    :class:`NotAllowed` for a name that is told on properties where the actor may not write.
    """
    if not _may_write(actor, person):
        _check_own_change(actor, person, changes)
    refuse_erased(person.id, field="id")
    _check_name(actor, person, changes)
    if person.host_id is not None:
        _check_reachable(person, changes)
    return writing.change(person, changes, actor=actor, action=Action.PERSON_WRITE, now=now)


@transaction.atomic
def create_guest(
    *, actor: Actor, host: Person | None, fields: Mapping[str, Any], now: datetime
) -> Person:
    """Add a guest of the actor, or of a host whom the actor may write.

    Raises ``ValidationError`` when nobody is named who can be called in an emergency.
    """
    if not actor.is_system and not actor.properties_for(Action.GUEST_WRITE):
        raise PermissionDenied("guests come with somebody who sits")
    host = host or _own_person(actor)
    if host.id != actor.person_id and not _may_write(actor, host):
        raise PermissionDenied("a guest is added by the host, or by the host's manager")
    if host.host_id is not None or host.retired_at is not None:
        raise ValidationError({"host": "A guest's host is somebody who belongs here."})
    guest = Person(cooperative=host.cooperative, host=host, **fields)
    _check_reachable(guest, {})
    return writing.create(guest, actor=actor, action=Action.GUEST_WRITE, now=now)


@transaction.atomic
def retire_guest(*, actor: Actor, guest: Person, now: datetime) -> Person:
    """Take a guest off the list; their sits stay on record."""
    is_own_guest = actor.is_one_of(guest.host_id)
    if not is_own_guest and not _may_write(actor, guest):
        raise PermissionDenied("a guest is retired by the host, or by the host's manager")
    if guest.retired_at is not None:
        return guest
    return writing.change(
        guest, {"retired_at": now}, actor=actor, action=Action.GUEST_WRITE, now=now
    )


@transaction.atomic
def create_member(
    *, actor: Actor, person: Person, fields: Mapping[str, Any], now: datetime
) -> Member:
    """Make a person a member with a share of the season's sits."""
    actor.require_in_cooperative(Action.MEMBER_WRITE, person.cooperative_id)
    if person.host_id is not None:
        raise ValidationError({"person": "A guest is no member."})
    refuse_erased(person.id)
    member = Member(person=person, **fields)
    return writing.create(member, actor=actor, action=Action.MEMBER_WRITE, now=now)


@transaction.atomic
def change_member(
    *, actor: Actor, member: Member, changes: Mapping[str, Any], now: datetime
) -> Member:
    """Change since when, or the share: it bears on everybody's turn, so coordinators do."""
    actor.require_in_cooperative(Action.MEMBER_WRITE, member.person.cooperative_id)
    refuse_erased(member.person_id)
    return writing.change(member, changes, actor=actor, action=Action.MEMBER_WRITE, now=now)


@transaction.atomic
def create_paper(
    *, actor: Actor, person: Person, fields: Mapping[str, Any], now: datetime
) -> Paper:
    """Record that a person holds a paper; whoever records it has seen it."""
    _require_write(actor, person)
    refuse_erased(person.id)
    paper = Paper(person=person, **fields)
    return writing.create(paper, actor=actor, action=Action.PERSON_WRITE, now=now)


@transaction.atomic
def change_paper(*, actor: Actor, paper: Paper, changes: Mapping[str, Any], now: datetime) -> Paper:
    """Change a paper's expiry or when it was confirmed."""
    _require_write(actor, paper.person)
    return writing.change(paper, changes, actor=actor, action=Action.PERSON_WRITE, now=now)


def _may_write(actor: Actor, person: Person) -> bool:
    return (
        persons_within_reach(actor=actor, action=Action.PERSON_WRITE).filter(id=person.id).exists()
    )


def _require_write(actor: Actor, person: Person) -> None:
    if not _may_write(actor, person):
        raise PermissionDenied(f"{Action.PERSON_WRITE} is not allowed to you for this person")


def _check_own_change(actor: Actor, person: Person, changes: Mapping[str, Any]) -> None:
    if actor.person_id is None:
        raise PermissionDenied(f"{Action.PERSON_WRITE} is not allowed to you")
    is_own_guest = actor.is_one_of(person.host_id)
    is_self = person.id == actor.person_id and OWN_FIELDS.issuperset(changes)
    if not (is_own_guest or is_self):
        raise PermissionDenied(f"{Action.PERSON_WRITE} is not allowed to you for this person")


def _check_name(actor: Actor, person: Person, changes: Mapping[str, Any]) -> None:
    is_own_guest = actor.is_one_of(person.host_id)
    if is_own_guest or changes.get("name", person.name) == person.name:
        return
    if belongs_beyond(actor=actor, action=Action.PERSON_WRITE, person=person):
        raise NotAllowed(
            "Landowners and members are told this name: it is changed by whoever manages every "
            "property that the person belongs to, or by the coordinator."
        )


def _check_reachable(guest: Person, changes: Mapping[str, Any]) -> None:
    missing = [
        name
        for name in ("emergency_contact_name", "emergency_contact_phone")
        if not changes.get(name, getattr(guest, name))
    ]
    if missing:
        raise ValidationError(
            dict.fromkeys(missing, "A guest needs somebody who can be called in an emergency.")
        )


def _own_person(actor: Actor) -> Person:
    known = Person.objects.filter(retired_at=None)
    own = known.filter(id=actor.person_id).first() if actor.person_id else None
    if own is None:
        raise ValidationError({"host": "Name the host: you are no person of a cooperative."})
    return own
