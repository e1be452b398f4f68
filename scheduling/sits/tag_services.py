"""Members' tags and permits: written by their holder or a manager, used by a harvest."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from properties.people.models import Person
from properties.people.queries import persons_within_reach
from scheduling.sits.harvest_models import Tag


@transaction.atomic
def create_tag(*, actor: Actor, person: Person, fields: Mapping[str, Any], now: datetime) -> Tag:
    """Keep a tag of one's own or one's guest; a manager any of their people's."""
    _require_write(actor, person)
    tag = Tag(person=person, **fields)
    _check_place(tag)
    return writing.create(
        tag, actor=actor, action=Action.TAG_WRITE, now=now, property_id=tag.property_id
    )


@transaction.atomic
def change_tag(*, actor: Actor, tag: Tag, changes: Mapping[str, Any], now: datetime) -> Tag:
    """Correct a tag; one that was used keeps what it covered."""
    _require_write(actor, tag.person)
    if hasattr(tag, "harvest") and changes.keys() - {"number"}:
        raise ValidationError(
            dict.fromkeys(sorted(changes.keys() - {"number"}), "It was used on a deer.")
        )
    writing.change(
        tag,
        changes,
        actor=actor,
        action=Action.TAG_WRITE,
        now=now,
        property_id=tag.property_id,
    )
    _check_place(tag)
    return tag


@transaction.atomic
def retire_tag(*, actor: Actor, tag: Tag, now: datetime) -> Tag:
    """Take an unused tag out: entered by mistake, lost, given back. Twice changes nothing."""
    _require_write(actor, tag.person)
    tag = Tag.objects.select_for_update(of=("self",)).select_related("person").get(id=tag.id)
    if hasattr(tag, "harvest"):
        raise ValidationError({"tag": "It was used on a deer; correct the deer first."})
    if tag.retired_at is not None:
        return tag
    return writing.change(
        tag,
        {"retired_at": now},
        actor=actor,
        action=Action.TAG_WRITE,
        now=now,
        property_id=tag.property_id,
    )


def _require_write(actor: Actor, person: Person) -> None:
    if actor.is_one_of(person.id, person.host_id):
        return
    reach = persons_within_reach(actor=actor, action=Action.TAG_READ)
    if not reach.filter(id=person.id).exists():
        raise PermissionDenied("a tag is entered by its holder or a manager")


def _check_place(tag: Tag) -> None:
    if tag.property is not None and tag.property.cooperative_id != tag.person.cooperative_id:
        raise ValidationError({"property": "Belongs to another cooperative."})
