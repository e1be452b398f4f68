"""Deer taken: recorded, corrected, checked; counted against the plan and never refused by it."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor, ActorKind
from coop.access.roles import Action
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.local_dates import local_date_on, shown_clock_on
from properties.land.models import Property
from properties.people.models import Person
from properties.people.queries import members_of
from scheduling.sits.harvest_checks import Level, doubts
from scheduling.sits.harvest_models import Tag
from scheduling.sits.harvest_plan_services import check_filled
from scheduling.sits.harvest_queries import as_deer, harvest_settings_of
from scheduling.sits.harvest_years import season_year_of
from scheduling.sits.models import DeerSex, Harvest, Sit

HARVEST_RECORDED = "harvest.recorded"
HARVEST_CHANGED = "harvest.changed"


@transaction.atomic
def record_harvest(
    *,
    actor: Actor,
    land: Property,
    person: Person | None,
    sit: Sit | None,
    fields: Mapping[str, Any],
    now: datetime,
) -> Harvest:
    """Record a deer of one's own, or, for a manager, of anybody who belongs there."""
    actor.require(Action.SIT_BOOK, land.id)
    person = _whose(actor, land, person, sit)
    return add_harvest(actor=actor, land=land, person=person, sit=sit, fields=fields, now=now)


def add_harvest(
    *,
    actor: Actor,
    land: Property,
    person: Person,
    sit: Sit | None,
    fields: Mapping[str, Any],
    now: datetime,
    followed_from: datetime | None = None,
) -> Harvest:
    """Write one deer and count it; inside the transaction of whoever has authorised it.

    ``followed_from`` is the hit as its tracking has it, which was judged when that was opened.
    Raises ``ValidationError`` naming each field that cannot be; nothing is refused because a
    plan is filled.
    """
    harvest = Harvest(property=land, person=person, sit=sit, **fields)
    _check_taken(harvest, now)
    if harvest.taken_at != followed_from:
        _check_of_sit(harvest)
    _check_plausible(harvest)
    _check_tag(harvest)
    writing.create(harvest, actor=actor, action=Action.SIT_BOOK, now=now, property_id=land.id)
    ids = {"harvest": harvest.id, "property": land.id}
    outbox.publish(topic=HARVEST_RECORDED, ids=ids, now=now)
    check_filled(
        actor=actor, harvest=harvest, years=[season_year_of(harvest.taken_at, land)], now=now
    )
    return harvest


@transaction.atomic
def change_harvest(
    *, actor: Actor, harvest: Harvest, changes: Mapping[str, Any], now: datetime
) -> Harvest:
    """Correct what was recorded: one's own, or as a manager. Nothing is ever taken off."""
    if harvest.person_id != actor.person_id or actor.person_id is None:
        actor.require(Action.SIT_MANAGE, harvest.property_id)
    taken_before = harvest.taken_at
    for name, value in changes.items():
        setattr(harvest, name, value)
    _check_taken(harvest, now)
    if harvest.taken_at != taken_before:
        _check_of_sit(harvest)
    _check_plausible(harvest)
    if {"tag", "taken_at", "harvest_class", "sex"} & changes.keys():
        _check_tag(harvest)
    harvest.refresh_from_db()
    writing.change(
        harvest,
        changes,
        actor=actor,
        action=Action.SIT_BOOK,
        now=now,
        property_id=harvest.property_id,
    )
    ids = {"harvest": harvest.id, "property": harvest.property_id}
    outbox.publish(topic=HARVEST_CHANGED, ids=ids, now=now)
    years = [season_year_of(at, harvest.property) for at in (taken_before, harvest.taken_at)]
    check_filled(actor=actor, harvest=harvest, years=years, now=now)
    return harvest


def _whose(actor: Actor, land: Property, person: Person | None, sit: Sit | None) -> Person:
    if sit is not None and sit.property_id != land.id:
        raise ValidationError({"sit": "Is on another property."})
    if actor.kind is ActorKind.APPLICATION:
        if sit is None:
            raise ValidationError({"sit": "Name the client's sit."})
        return sit.person
    if sit is not None and person is not None and sit.person_id != person.id:
        raise ValidationError({"sit": "Is the sit of somebody else."})
    found = person or (sit.person if sit is not None else None)
    if found is None and actor.person_id is not None:
        found = Person.objects.get(id=actor.person_id)
    if found is None:
        raise ValidationError({"person": "Name the person who took the deer."})
    if not actor.is_one_of(found.id, found.host_id):
        actor.require(Action.SIT_MANAGE, land.id)
        _check_belongs(found, land)
    return found


def _check_belongs(person: Person, land: Property) -> None:
    belongs = members_of(property_id=land.id)
    is_known = (
        belongs.filter(id__in=[person.id, person.host_id]).exists()
        or Sit.objects.filter(property=land, person=person).exists()
    )
    if not is_known and person.cooperative_id != land.cooperative_id:
        raise ValidationError({"person": "Does not belong here."})


def _check_taken(harvest: Harvest, now: datetime) -> None:
    if harvest.taken_at is None:
        raise ValidationError({"taken_at": "Say when it was taken."})
    if harvest.taken_at > now:
        raise ValidationError({"taken_at": "Lies in the future."})


def _check_of_sit(harvest: Harvest) -> None:
    """A deer of a sit was hit while its hunter was there, whenever it was found.

    Without a check-in the sit's own hours stand for that; whoever is still there has no end.
    """
    sit = harvest.sit
    if sit is None:
        return
    begins, begins_at = "check-in", sit.checked_in_at
    ends, ends_at = "check-out", sit.checked_out_at
    if begins_at is None:
        begins, begins_at = "beginning (nobody told a check-in)", sit.starts_at
        ends, ends_at = "end (nobody told a check-in)", sit.ends_at
    if harvest.taken_at < begins_at:
        when = shown_clock_on(harvest.property, begins_at)
        raise ValidationError({"taken_at": f"Lies before the sit's {begins}, {when}."})
    if ends_at is not None and harvest.taken_at > ends_at:
        when = shown_clock_on(harvest.property, ends_at)
        raise ValidationError({"taken_at": f"Lies after the sit's {ends}, {when}."})


def _check_plausible(harvest: Harvest) -> None:
    found = doubts(as_deer(harvest), settings=harvest_settings_of(harvest.property))
    wrong = {doubt.field: doubt.sentence for doubt in found if doubt.level is Level.ERROR}
    if wrong:
        raise ValidationError(wrong)


def _check_tag(harvest: Harvest) -> None:
    """The tag is the hunter's own, unused, and covers this deer; a deer without one stands."""
    if harvest.tag_id is None:
        return
    tag = Tag.objects.select_for_update().get(id=harvest.tag_id)
    wrong = _wrong_with(tag, harvest)
    if wrong:
        raise ValidationError({"tag": wrong})


def _wrong_with(tag: Tag, harvest: Harvest) -> str:
    day = local_date_on(harvest.property, harvest.taken_at)
    objections = (
        (tag.person_id != harvest.person_id, "Is somebody else's: its holder uses it."),
        (tag.retired_at is not None, "Has been taken out."),
        (
            Harvest.objects.filter(tag=tag).exclude(id=harvest.id).exists(),
            "Was used on another deer.",
        ),
        (tag.property_id not in (None, harvest.property_id), "Is for another property."),
        (
            not tag.valid_from <= day <= tag.valid_until,
            f"Is valid from {tag.valid_from} until {tag.valid_until}.",
        ),
        (
            tag.harvest_class not in ("", harvest.harvest_class),
            f"Covers {tag.harvest_class} deer.",
        ),
        (tag.sex and harvest.sex not in (tag.sex, DeerSex.UNKNOWN), f"Covers {tag.sex} deer."),
    )
    return next((sentence for holds, sentence in objections if holds), "")
