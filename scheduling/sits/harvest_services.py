"""Deer taken, counted against the property's own plan; what is over it is told, never hidden."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor, ActorKind
from coop.access.roles import Action
from coop.audit import services as audit
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.models import Property
from properties.people.models import Person
from properties.people.queries import members_of
from properties.sessions.local_time import local_day
from scheduling.sits import notices
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.models import Harvest, HarvestPlan, Sit

HARVEST_RECORDED = "harvest.recorded"
HARVEST_OVER_PLAN = "harvest.over_plan"


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
) -> Harvest:
    """Write one deer and count it; inside the transaction of whoever has authorised it."""
    harvest = Harvest(property=land, person=person, sit=sit, **fields)
    _check_taken(harvest, now)
    writing.create(harvest, actor=actor, action=Action.SIT_BOOK, now=now, property_id=land.id)
    ids = {"harvest": harvest.id, "property": land.id}
    outbox.publish(topic=HARVEST_RECORDED, ids=ids, now=now)
    _notice_over_plan(harvest, now)
    return harvest


@transaction.atomic
def change_harvest(
    *, actor: Actor, harvest: Harvest, changes: Mapping[str, Any], now: datetime
) -> Harvest:
    """Correct what was recorded: one's own, or as a manager. Nothing is ever taken off."""
    if harvest.person_id != actor.person_id or actor.person_id is None:
        actor.require(Action.SIT_MANAGE, harvest.property_id)
    for name, value in changes.items():
        if name == "taken_at" and value > now:
            raise ValidationError({"taken_at": "Lies in the future."})
    writing.change(
        harvest,
        changes,
        actor=actor,
        action=Action.SIT_BOOK,
        now=now,
        property_id=harvest.property_id,
    )
    _notice_over_plan(harvest, now)
    return harvest


@transaction.atomic
def create_plan(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> HarvestPlan:
    """State how many deer of a class a property plans to take in a season's year."""
    actor.require(Action.SIT_MANAGE, land.id)
    plan = HarvestPlan(property=land, **fields)
    return writing.create(plan, actor=actor, action=Action.SIT_MANAGE, now=now, property_id=land.id)


@transaction.atomic
def change_plan(*, actor: Actor, plan: HarvestPlan, planned: int, now: datetime) -> HarvestPlan:
    """Plan another number."""
    actor.require(Action.SIT_MANAGE, plan.property_id)
    return writing.change(
        plan,
        {"planned": planned},
        actor=actor,
        action=Action.SIT_MANAGE,
        now=now,
        property_id=plan.property_id,
    )


@transaction.atomic
def delete_plan(*, actor: Actor, plan: HarvestPlan, now: datetime) -> None:
    """Take a plan out; the record keeps what it said."""
    actor.require(Action.SIT_MANAGE, plan.property_id)
    audit.record(
        actor=actor,
        action=Action.SIT_MANAGE,
        target=plan,
        now=now,
        property_id=plan.property_id,
        before=audit.snapshot(plan),
        reason="deleted",
    )
    plan.delete()


def season_year_of(instant: datetime, land: Property) -> int:
    """The calendar year in which the season's year holding ``instant`` begins, locally."""
    first_month = sit_settings_of(land).season_year_first_month
    day = instant.astimezone(ZoneInfo(land.time_zone)).date()
    return day.year if day.month >= first_month else day.year - 1


def season_year_span(year: int, land: Property) -> tuple[datetime, datetime]:
    """First instant of a season's year and of the next one, by the property's calendar."""
    first_month = sit_settings_of(land).season_year_first_month
    zone = ZoneInfo(land.time_zone)
    begins, ends = date(year, first_month, 1), date(year + 1, first_month, 1)
    return local_day(begins, zone)[0], local_day(ends, zone)[0]


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
    if actor.person_id is None or actor.person_id not in (found.id, found.host_id):
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


def _notice_over_plan(harvest: Harvest, now: datetime) -> None:
    land = harvest.property
    year = season_year_of(harvest.taken_at, land)
    plan = (
        HarvestPlan.objects.select_for_update()
        .filter(property=land, season_year=year, harvest_class=harvest.harvest_class)
        .first()
    )
    if plan is None:
        return
    begins_at, ends_at = season_year_span(year, land)
    taken = Harvest.objects.filter(
        property=land,
        harvest_class=harvest.harvest_class,
        taken_at__gte=begins_at,
        taken_at__lt=ends_at,
    ).count()
    if taken <= plan.planned:
        return
    ids = {"harvest": harvest.id, "property": land.id, "plan": plan.id}
    outbox.publish(topic=HARVEST_OVER_PLAN, ids=ids, now=now)
    notices.tell_managers(
        property_id=land.id,
        cooperative_id=land.cooperative_id,
        once_key=f"harvest-over-plan:{plan.id}:{taken}",
        subject=f"{land.name}: {taken} {harvest.harvest_class} taken, {plan.planned} planned",
        text=(
            f"With the {harvest.harvest_class} deer taken by {harvest.person.name}, {taken} are "
            f"recorded on {land.name} in the season's year {year}; the property planned "
            f"{plan.planned}. The deer is counted. Check your state's reporting rules."
        ),
        now=now,
    )
