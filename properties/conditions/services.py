"""Enter and withdraw conditions; whoever follows the facts refuses bookings and tells people."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from coop.outbox import services as outbox
from properties.conditions.condition_rows import ConditionRow
from properties.conditions.models import Condition, ConditionKind
from properties.land.models import Property

CONDITION_ENTERED = "condition.entered"
CONDITION_WITHDRAWN = "condition.withdrawn"

_FIGURE_OF = {
    ConditionKind.THUNDER: "thunder_chance",
    ConditionKind.FIRE_DANGER: "fire_danger_level",
    ConditionKind.WATER: "water_level_m",
}


@dataclass(frozen=True, kw_only=True)
class Imported:
    """The reconciliation of an import: read = entered + changed + over + known already."""

    read: int
    entered: int
    changed: int
    over: int

    @property
    def known_already(self) -> int:
        return self.read - self.entered - self.changed - self.over


@transaction.atomic
def enter_condition(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> Condition:
    """Keep a condition; the fact makes others tell people and refuse new bookings.

    Raises ``PermissionDenied`` and ``ValidationError`` by field.
    """
    actor.require(Action.CONDITION_WRITE, land.id)
    condition = Condition(property=land, entered_by=actor.name, **fields)
    _check(condition)
    if condition.ends_at is not None and condition.ends_at <= now:
        raise ValidationError({"ends_at": "Lies in the past."})
    writing.create(
        condition, actor=actor, action=Action.CONDITION_WRITE, now=now, property_id=land.id
    )
    _publish(CONDITION_ENTERED, condition, now)
    return condition


@transaction.atomic
def withdraw_condition(
    *, actor: Actor, condition: Condition, reason: str, now: datetime
) -> Condition:
    """A condition that no longer holds, or was entered in error. Twice changes nothing."""
    actor.require(Action.CONDITION_WRITE, condition.property_id)
    condition = (
        Condition.objects.select_for_update(of=("self",))
        .select_related("property")
        .get(id=condition.id)
    )
    if condition.withdrawn_at is not None:
        return condition
    _change(actor, condition, {"withdrawn_at": now}, now, reason=reason)
    _publish(CONDITION_WITHDRAWN, condition, now)
    return condition


@transaction.atomic
def import_conditions(
    *, actor: Actor, land: Property, rows: Iterable[ConditionRow], source: str, now: datetime
) -> Imported:
    """Enter what a source tells; a reference known already is changed in place where it differs.

    The same rows again change nothing, and what is over by now is not entered any more. All
    or nothing: raises ``ValidationError`` that names the line.
    """
    actor.require(Action.CONDITION_WRITE, land.id)
    Property.objects.select_for_update(no_key=True).get(id=land.id)
    known = {
        row.reference: row
        for row in Condition.objects.filter(property=land, source=source, withdrawn_at=None)
        if row.reference
    }
    read = entered = changed = over = 0
    for row in rows:
        read += 1
        try:
            if row.reference not in known and row.ends_at is not None and row.ends_at <= now:
                over += 1
            elif row.reference not in known:
                fields = {**row.columns(), "source": source, "reference": row.reference}
                known[row.reference] = enter_condition(
                    actor=actor, land=land, fields=fields, now=now
                )
                entered += 1
            else:
                changed += _change_if_other(actor, known[row.reference], row.columns(), now)
        except ValidationError as problem:
            raise ValidationError({f"line {row.line}": problem.messages}) from problem
    return Imported(read=read, entered=entered, changed=changed, over=over)


def _change_if_other(
    actor: Actor, condition: Condition, columns: Mapping[str, Any], now: datetime
) -> bool:
    other = {name: value for name, value in columns.items() if getattr(condition, name) != value}
    if not other:
        return False
    for name, value in other.items():
        setattr(condition, name, value)
    _check(condition)
    condition.refresh_from_db()
    _change(actor, condition, other, now, reason="the source changed it")
    _publish(CONDITION_ENTERED, condition, now)
    return True


def _check(condition: Condition) -> None:
    needed = _FIGURE_OF.get(ConditionKind(condition.kind))
    for figure in _FIGURE_OF.values():
        given = getattr(condition, figure) is not None
        if figure == needed and not given:
            raise ValidationError({figure: f"Is needed for {condition.kind}."})
        if figure != needed and given:
            raise ValidationError({figure: f"Does not belong to {condition.kind}."})
    if condition.ends_at is not None and condition.ends_at <= condition.starts_at:
        raise ValidationError({"ends_at": "Must lie after starts_at."})


def _change(
    actor: Actor, condition: Condition, changes: Mapping[str, Any], now: datetime, *, reason: str
) -> None:
    writing.change(
        condition,
        changes,
        actor=actor,
        action=Action.CONDITION_WRITE,
        now=now,
        property_id=condition.property_id,
        reason=reason,
    )


def _publish(topic: str, condition: Condition, now: datetime) -> None:
    ids = {"condition": condition.id, "property": condition.property_id}
    outbox.publish(topic=topic, ids=ids, now=now)
