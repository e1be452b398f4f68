"""Plans of harvest, and what follows when a number is reached or passed."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import services as audit
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.models import Property
from scheduling.sits import harvest_notices
from scheduling.sits.harvest_arithmetic import Counted
from scheduling.sits.harvest_place_services import lock_land
from scheduling.sits.harvest_queries import counted_plans
from scheduling.sits.models import Harvest, HarvestPlan

HARVEST_OVER_PLAN = "harvest.over_plan"
HARVEST_CLASS_FILLED = "harvest.class_filled"
HARVEST_PLAN_CHANGED = "harvest.plan_changed"


@transaction.atomic
def create_plan(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> HarvestPlan:
    """State how many deer of a class a property plans to take in a season's year."""
    actor.require(Action.SIT_MANAGE, land.id)
    plan = HarvestPlan(property=land, **fields)
    writing.create(plan, actor=actor, action=Action.SIT_MANAGE, now=now, property_id=land.id)
    _planned(actor, plan, now)
    return plan


@transaction.atomic
def change_plan(
    *, actor: Actor, plan: HarvestPlan, changes: Mapping[str, Any], now: datetime
) -> HarvestPlan:
    """Plan another number, or keep places or none."""
    actor.require(Action.SIT_MANAGE, plan.property_id)
    writing.change(
        plan,
        changes,
        actor=actor,
        action=Action.SIT_MANAGE,
        now=now,
        property_id=plan.property_id,
    )
    _planned(actor, plan, now)
    return plan


@transaction.atomic
def delete_plan(*, actor: Actor, plan: HarvestPlan, now: datetime) -> None:
    """Take a plan out; the record keeps what it said."""
    actor.require(Action.SIT_MANAGE, plan.property_id)
    lock_land(plan.property_id)
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


def check_filled(*, actor: Actor, harvest: Harvest, years: Iterable[int], now: datetime) -> None:
    """Count the plans of a deer's years; say which are filled now, open again, or exceeded.

    Inside the transaction that wrote the deer. Plans are locked in the order of their ids, so
    that two who record at once are counted one after the other.
    """
    land = harvest.property
    plans = _locked_plans(land, years)
    counts = counted_plans(plans)
    for plan in plans:
        counted = counts[plan.id]
        _mark(actor, plan, counted, now)
        if plan.harvest_class == harvest.harvest_class and counted.over:
            ids = {"harvest": harvest.id, "property": land.id, "plan": plan.id}
            outbox.publish(topic=HARVEST_OVER_PLAN, ids=ids, now=now)
            harvest_notices.tell_over_plan(harvest, plan, counted, now)


def recount(
    *, actor: Actor, land: Property, harvest_class: str, years: Iterable[int], now: datetime
) -> None:
    """Count plans anew when something beside the deer taken counts; inside that transaction."""
    plans = [plan for plan in _locked_plans(land, years) if plan.harvest_class == harvest_class]
    for plan in plans:
        _planned(actor, plan, now)


def _locked_plans(land: Property, years: Iterable[int]) -> list[HarvestPlan]:
    return list(
        HarvestPlan.objects.select_for_update(of=("self",), no_key=True)
        .filter(property=land, season_year__in=set(years))
        .select_related("property__cooperative")
        .order_by("id")
    )


def _planned(actor: Actor, plan: HarvestPlan, now: datetime) -> None:
    """Whoever edits holds the plan's row, so the property's lock is left to the fact."""
    _mark(actor, plan, counted_plans([plan])[plan.id], now)
    ids = {"property": plan.property_id, "plan": plan.id}
    outbox.publish(topic=HARVEST_PLAN_CHANGED, ids=ids, now=now)


def _mark(actor: Actor, plan: HarvestPlan, counted: Counted, now: datetime) -> None:
    if counted.is_filled == (plan.filled_at is not None):
        return
    writing.change(
        plan,
        {"filled_at": now if counted.is_filled else None},
        actor=actor,
        action=Action.SIT_BOOK,
        now=now,
        property_id=plan.property_id,
        reason="the number planned is reached" if counted.is_filled else "below the number again",
    )
    if counted.is_filled:
        ids = {"property": plan.property_id, "plan": plan.id}
        outbox.publish(topic=HARVEST_CLASS_FILLED, ids=ids, now=now)
