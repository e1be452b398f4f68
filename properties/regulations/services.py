"""Enter, change, confirm and withdraw dated values: what somebody read, never what the law is."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import Problem
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.models import Property
from properties.land.services import PROPERTY_CHANGED
from properties.regulations.kinds import InvalidValue, RegulationKind, check_value
from properties.regulations.models import Regulation


class RegulationsOverlap(Problem):
    """Another value of the same kind holds in those days."""

    code = "regulations_overlap"
    title = "Another value of this kind holds on some of these days"


@transaction.atomic
def enter_regulation(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> Regulation:
    """Enter a value with the page it was read on.

    Raises ``PermissionDenied``, ``ValidationError`` by field and :class:`RegulationsOverlap`.
    """
    actor.require(Action.REGULATION_WRITE, land.id)
    _lock(land)
    regulation = Regulation(property=land, entered_by=actor.name, entered_at=now, **fields)
    _check(regulation)
    writing.create(
        regulation, actor=actor, action=Action.REGULATION_WRITE, now=now, property_id=land.id
    )
    _publish(regulation, now)
    return regulation


@transaction.atomic
def change_regulation(
    *, actor: Actor, regulation: Regulation, changes: Mapping[str, Any], now: datetime
) -> Regulation:
    """Correct a value, its dates or its source; it counts as entered anew."""
    actor.require(Action.REGULATION_WRITE, regulation.property_id)
    _lock(regulation.property)
    if regulation.withdrawn_at is not None:
        raise ValidationError("A value that was withdrawn is not changed any more.")
    wanted = Regulation.objects.get(id=regulation.id)
    for name, value in changes.items():
        setattr(wanted, name, value)
    _check(wanted)
    _write(actor, regulation, {**changes, "entered_by": actor.name, "entered_at": now}, now)
    _publish(regulation, now)
    return regulation


@transaction.atomic
def confirm_regulation(*, actor: Actor, regulation: Regulation, now: datetime) -> Regulation:
    """Somebody read the state's page again, and the value still stands as it is."""
    actor.require(Action.REGULATION_WRITE, regulation.property_id)
    regulation = _locked(regulation)
    if regulation.withdrawn_at is not None:
        raise ValidationError("A value that was withdrawn is not confirmed any more.")
    return _write(actor, regulation, {"confirmed_by": actor.name, "confirmed_at": now}, now)


@transaction.atomic
def withdraw_regulation(
    *, actor: Actor, regulation: Regulation, reason: str, now: datetime
) -> Regulation:
    """Take back a value entered in error; the record keeps it. Twice changes nothing."""
    actor.require(Action.REGULATION_WRITE, regulation.property_id)
    regulation = _locked(regulation)
    if regulation.withdrawn_at is None:
        _write(actor, regulation, {"withdrawn_at": now}, now, reason=reason)
        _publish(regulation, now)
    return regulation


def _lock(land: Property) -> None:
    """Two values entered at a time: the second finds the first."""
    Property.objects.select_for_update(no_key=True).get(id=land.id)


def _locked(regulation: Regulation) -> Regulation:
    return (
        Regulation.objects.select_for_update(of=("self",))
        .select_related("property")
        .get(id=regulation.id)
    )


def _check(regulation: Regulation) -> None:
    if regulation.last_on is not None and regulation.first_on > regulation.last_on:
        raise ValidationError({"last_on": "Must not lie before first_on."})
    if not regulation.source_url:
        raise ValidationError({"source_url": "Name the state's page on which it was read."})
    try:
        check_value(RegulationKind(regulation.kind), regulation.value)
    except InvalidValue as problem:
        raise ValidationError({"value": str(problem)}) from problem
    others = Regulation.objects.filter(
        Q(last_on=None) | Q(last_on__gte=regulation.first_on),
        property=regulation.property_id,
        kind=regulation.kind,
        withdrawn_at=None,
    ).exclude(id=regulation.id)
    if regulation.last_on is not None:
        others = others.filter(first_on__lte=regulation.last_on)
    other = others.order_by("first_on").first()
    if other is not None:
        until = f"until {other.last_on}" if other.last_on else "without an end"
        raise RegulationsOverlap(
            f"A value of {regulation.kind} holds from {other.first_on} {until}: end that one "
            "before this one begins."
        )


def _publish(regulation: Regulation, now: datetime) -> None:
    """Hunting light moves the windows of sessions, on which fits hang."""
    if regulation.kind == RegulationKind.SHOOTING_LIGHT:
        outbox.publish(topic=PROPERTY_CHANGED, ids={"property": regulation.property_id}, now=now)


def _write(
    actor: Actor,
    regulation: Regulation,
    changes: Mapping[str, Any],
    now: datetime,
    *,
    reason: str = "",
) -> Regulation:
    return writing.change(
        regulation,
        changes,
        actor=actor,
        action=Action.REGULATION_WRITE,
        now=now,
        property_id=regulation.property_id,
        reason=reason,
    )
