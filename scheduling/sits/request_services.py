"""Wishes for sits: made, changed, withdrawn."""

from collections.abc import Mapping
from copy import copy
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import WrongOrder
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.people.hosting import companions
from properties.people.models import Person
from properties.sessions.kinds import SessionKind
from properties.stands.models import Stand
from scheduling.sits.models import SitRequest, SitSpan
from scheduling.sits.people_queries import may_sit_on

REQUEST_CHANGED = "request.changed"
LONGEST_REQUEST_DAYS = 60
_SESSIONS_OF = {
    SitSpan.MORNING: "mornings",
    SitSpan.EVENING: "evenings",
    SitSpan.ALL_DAY: "whole days",
}


@transaction.atomic
def create_request(
    *,
    actor: Actor,
    land: Property,
    person: Person | None,
    fields: Mapping[str, Any],
    now: datetime,
) -> SitRequest:
    """Ask for sits, alone or with guests; a manager may ask for somebody who sits there.

    Guests are whom the person could name in a booking. Raises ``PermissionDenied`` and
    ``ValidationError`` by field.
    """
    actor.require(Action.REQUEST_WRITE, land.id)
    if person is None and actor.person_id is not None:
        person = Person.objects.get(id=actor.person_id)
    if person is None:
        raise ValidationError({"person": "Name the person who would sit."})
    if person.id != actor.person_id:
        actor.require_to_name(
            "person",
            Action.SIT_MANAGE,
            land.id,
            why="Only a manager of the property wishes for somebody else.",
        )
    _check_sits_here(person, land)
    request = SitRequest(property=land, person=person, **fields)
    _check(request, now)
    writing.create(request, actor=actor, action=Action.REQUEST_WRITE, now=now, property_id=land.id)
    _publish(request, now)
    return request


@transaction.atomic
def change_request(
    *, actor: Actor, request: SitRequest, changes: Mapping[str, Any], now: datetime
) -> SitRequest:
    """Change a wish that stands."""
    _require_own(actor, request)
    if request.withdrawn_at is not None:
        raise WrongOrder("This request was withdrawn; make a new one.")
    changed = copy(request)
    for name, value in changes.items():
        setattr(changed, name, value)
    _check(changed, now)
    writing.change(
        request,
        changes,
        actor=actor,
        action=Action.REQUEST_WRITE,
        now=now,
        property_id=request.property_id,
    )
    _publish(request, now)
    return request


@transaction.atomic
def withdraw_request(*, actor: Actor, request: SitRequest, now: datetime) -> SitRequest:
    """Take a wish back; it stays on record. Twice changes nothing."""
    _require_own(actor, request)
    request = SitRequest.objects.select_for_update().get(id=request.id)
    if request.withdrawn_at is not None:
        return request
    writing.change(
        request,
        {"withdrawn_at": now},
        actor=actor,
        action=Action.REQUEST_WRITE,
        now=now,
        property_id=request.property_id,
    )
    _publish(request, now)
    return request


def _require_own(actor: Actor, request: SitRequest) -> None:
    if actor.person_id is None or request.person_id != actor.person_id:
        actor.require(Action.SIT_MANAGE, request.property_id)


def _check_sits_here(person: Person, land: Property) -> None:
    if not may_sit_on(person.id, land):
        raise ValidationError({"person": f"{person.name} has no role that lets them sit there."})


def _check(request: SitRequest, now: datetime) -> None:
    today = local_date_on(request.property, now)
    if request.last_on < request.first_on:
        raise ValidationError({"last_on": "Must not lie before first_on."})
    if request.last_on < today:
        raise ValidationError({"last_on": f"Lies before today, {today:%d %b %Y} there."})
    if (request.last_on - request.first_on).days >= LONGEST_REQUEST_DAYS:
        raise ValidationError({"last_on": f"At most {LONGEST_REQUEST_DAYS} days are asked for."})
    if SitSpan.ALL_DAY in request.kinds and len(request.kinds) > 1:
        raise ValidationError({"kinds": "A request for whole days names all_day alone."})
    _check_number(request)
    wanted = {UUID(stand_id) for stand_id in request.wanted_stands}
    known = Stand.objects.filter(
        id__in=wanted, property_id=request.property_id, retired_at=None
    ).values_list("id", flat=True)
    elsewhere = sorted(wanted - set(known))
    if elsewhere:
        said = "This stand is not on this property."
        raise ValidationError({f"wanted_stands/{stand_id}": said for stand_id in elsewhere})
    _check_guests(request, on=max(request.first_on, today))


def _check_number(request: SitRequest) -> None:
    """Not more sits than there are sessions of these kinds, whichever stands are open."""
    kinds = frozenset(request.kinds) or frozenset(SessionKind)
    days = (request.last_on - request.first_on).days + 1
    most = days * len(kinds)
    if request.wanted_sits > most:
        these = _SESSIONS_OF[next(iter(kinds))] if len(kinds) == 1 else "mornings and evenings"
        said = f"At most {most}: so many {these} lie between first_on and last_on."
        raise ValidationError({"wanted_sits": said})


def _check_guests(request: SitRequest, *, on: date) -> None:
    """Who may come along from the first day on; for each later day the plan asks again."""
    found = companions([UUID(guest_id) for guest_id in request.guests])
    for guest_id in request.guests:
        guest = found[UUID(guest_id)]
        if not guest.comes_with(request.person_id, on=on):
            raise ValidationError({"guests": f"{guest.name} is no guest of {request.person.name}."})


def _publish(request: SitRequest, now: datetime) -> None:
    ids = {"request": request.id, "property": request.property_id, "person": request.person_id}
    outbox.publish(topic=REQUEST_CHANGED, ids=ids, now=now)
