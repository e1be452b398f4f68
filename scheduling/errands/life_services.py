"""Assign, finish and withdraw errands."""

from datetime import datetime

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import WrongOrder
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.local_dates import local_date_on
from properties.people.models import Person
from properties.people.queries import members_of
from properties.stands.services import record_inspection
from scheduling.errands.models import Errand, ErrandKind, ErrandState
from scrapes.care.services import apply_scent

ERRAND_DONE = "errand.done"


@transaction.atomic
def assign_errand(*, actor: Actor, errand: Errand, assignee: Person, now: datetime) -> Errand:
    """Give an errand to somebody who belongs to the property."""
    actor.require(Action.ERRAND_WRITE, errand.property_id)
    locked = _locked_open(errand)
    if not members_of(property_id=errand.property_id).filter(id=assignee.id).exists():
        raise ValidationError({"assignee": "Must be a member or manager of the property."})
    return writing.change(
        locked,
        {"assignee": assignee},
        actor=actor,
        action=Action.ERRAND_WRITE,
        now=now,
        property_id=errand.property_id,
    )


@transaction.atomic
def finish_errand(
    *,
    actor: Actor,
    errand: Errand,
    note: str,
    now: datetime,
    scent: str = "",
    passed: bool | None = None,
) -> Errand:
    """Record that it was done, and what was done; reminders stop.

    Whoever manages errands may finish any; others those given to them or to nobody. A refresh
    names the scent and is recorded on the scrape with it, an inspection whether the stand passed
    and is recorded on the stand: both or neither. Raises ``ValidationError`` where either is
    missing or does not belong, ``PermissionDenied`` for an inspection by somebody who may not
    record one, and :class:`coop.api.problems.Refused` for a scent that the property's settings
    do not permit.
    """
    actor.require(Action.ERRAND_DO, errand.property_id)
    locked = _locked_open(errand)
    mine = locked.assignee_id in (None, actor.person_id)
    if not mine and not actor.may(Action.ERRAND_WRITE, errand.property_id):
        raise PermissionDenied("this errand was given to somebody else")
    _record_scent(locked, scent.strip(), actor=actor, note=note, now=now)
    _record_inspection(locked, passed, actor=actor, note=note, now=now)
    writing.change(
        locked,
        {
            "state": ErrandState.DONE,
            "done_at": now,
            "done_by_id": actor.person_id,
            "done_note": note,
        },
        actor=actor,
        action=Action.ERRAND_DO,
        now=now,
        property_id=errand.property_id,
    )
    outbox.publish(topic=ERRAND_DONE, ids={"errand": locked.id}, now=now)
    return locked


def _record_scent(errand: Errand, scent: str, *, actor: Actor, note: str, now: datetime) -> None:
    if errand.kind != ErrandKind.REFRESH_SCENT or errand.scrape is None:
        if scent:
            raise ValidationError({"scent": "Only a refresh of scent names one."})
        return
    if not scent:
        raise ValidationError({"scent": "Name the scent that was put on the scrape."})
    apply_scent(actor=actor, scrape=errand.scrape, scent=scent, notes=note[:300], now=now)


def _record_inspection(
    errand: Errand, passed: bool | None, *, actor: Actor, note: str, now: datetime
) -> None:
    if errand.kind != ErrandKind.INSPECT_STAND or errand.stand is None:
        if passed is not None:
            raise ValidationError({"passed": "Only an inspection is passed or failed."})
        return
    if passed is None:
        raise ValidationError({"passed": "Say whether the stand passed its inspection."})
    record_inspection(
        actor=actor,
        stand=errand.stand,
        inspected_on=local_date_on(errand.property, now),
        inspected_by=actor.name,
        passed=passed,
        notes=note,
        now=now,
    )


@transaction.atomic
def close_done_elsewhere(*, actor: Actor, errand: Errand, note: str, now: datetime) -> None:
    """Close an errand whose work was recorded where it belongs; one closed already stays."""
    actor.require(Action.ERRAND_WRITE, errand.property_id)
    locked = Errand.objects.select_for_update().get(id=errand.id)
    if locked.state != ErrandState.OPEN:
        return
    writing.change(
        locked,
        {"state": ErrandState.DONE, "done_at": now, "done_note": note},
        actor=actor,
        action=Action.ERRAND_WRITE,
        now=now,
        property_id=locked.property_id,
    )
    outbox.publish(topic=ERRAND_DONE, ids={"errand": locked.id}, now=now)


@transaction.atomic
def cancel_errand(*, actor: Actor, errand: Errand, reason: str, now: datetime) -> Errand:
    """Withdraw an errand that need not be done."""
    actor.require(Action.ERRAND_WRITE, errand.property_id)
    locked = _locked_open(errand)
    return writing.change(
        locked,
        {"state": ErrandState.CANCELLED, "done_note": reason},
        actor=actor,
        action=Action.ERRAND_WRITE,
        now=now,
        property_id=errand.property_id,
        reason=reason,
    )


def _locked_open(errand: Errand) -> Errand:
    locked = Errand.objects.select_for_update().get(id=errand.id)
    if locked.state != ErrandState.OPEN:
        raise WrongOrder(f"The errand is {locked.state} already.")
    return locked
