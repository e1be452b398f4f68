"""Enter, change and withdraw leases, and keep the dates of their rent."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import Problem
from coop.audit import writing
from properties.land.models import Property
from properties.land.services import lift_closure
from properties.leases.models import Lease, Rent
from properties.leases.queries import standing_leases
from properties.leases.uses import LeasePeople


class LeasesOverlap(Problem):
    """Another lease of the property is in force in that term."""

    code = "leases_overlap"
    title = "Another lease of the property covers some of these days"


@transaction.atomic
def enter_lease(*, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime) -> Lease:
    """Enter a lease. From then on a day that no lease covers is not hunted there.

    Raises ``PermissionDenied``, ``ValidationError`` by field and :class:`LeasesOverlap`.
    """
    actor.require(Action.LEASE_WRITE, land.id)
    land = _locked(land)
    lease = Lease(property=land, **fields)
    _check(lease)
    writing.create(lease, actor=actor, action=Action.LEASE_WRITE, now=now, property_id=land.id)
    _open_again(lease, actor=actor, now=now)
    return lease


@transaction.atomic
def change_lease(*, actor: Actor, lease: Lease, changes: Mapping[str, Any], now: datetime) -> Lease:
    """Change a lease, its term too; raises as :func:`enter_lease` does."""
    actor.require(Action.LEASE_WRITE, lease.property_id)
    lock_land_of(lease)
    lease = (
        Lease.objects.select_for_update(of=("self",)).select_related("property").get(id=lease.id)
    )
    if lease.withdrawn_at is not None:
        raise ValidationError("A lease that was withdrawn is not changed any more.")
    wanted = Lease.objects.get(id=lease.id)
    for name, value in changes.items():
        setattr(wanted, name, value)
    _check(wanted)
    _write(actor, lease, changes, now)
    _open_again(lease, actor=actor, now=now)
    return lease


@transaction.atomic
def withdraw_lease(*, actor: Actor, lease: Lease, reason: str, now: datetime) -> Lease:
    """Take back a lease entered in error; the record keeps it. Twice changes nothing.

    A property whose only lease is withdrawn is as one for which none was entered.
    """
    actor.require(Action.LEASE_WRITE, lease.property_id)
    lock_land_of(lease)
    lease = Lease.objects.select_for_update(of=("self",)).select_related("closure").get(id=lease.id)
    if lease.withdrawn_at is not None:
        return lease
    closure = lease.closure
    _write(actor, lease, {"withdrawn_at": now, "closure": None}, now, reason=reason)
    if closure is not None:
        lift_closure(actor=actor, closure=closure, now=now)
    return lease


@transaction.atomic
def enter_rent(*, actor: Actor, lease: Lease, fields: Mapping[str, Any], now: datetime) -> Rent:
    """Keep a sum that is due under a lease; raises ``ValidationError`` by field."""
    actor.require(Action.LEASE_WRITE, lease.property_id)
    lock_land_of(lease)
    if Lease.objects.select_for_update(of=("self",)).get(id=lease.id).withdrawn_at is not None:
        raise ValidationError({"lease": "Was withdrawn: no rent is due under it."})
    rent = Rent(lease=lease, **fields)
    return writing.create(
        rent, actor=actor, action=Action.LEASE_WRITE, now=now, property_id=lease.property_id
    )


@transaction.atomic
def change_rent(*, actor: Actor, rent: Rent, changes: Mapping[str, Any], now: datetime) -> Rent:
    """Correct a sum or its date, or say when it was paid."""
    property_id = rent.lease.property_id
    actor.require(Action.LEASE_WRITE, property_id)
    return writing.change(
        rent, changes, actor=actor, action=Action.LEASE_WRITE, now=now, property_id=property_id
    )


def lock_land_of(lease: Lease) -> None:
    """Whoever writes leases locks the property first and then the lease, never the other way."""
    _locked(lease.property)


def _locked(land: Property) -> Property:
    """Two leases entered at a time: the second finds the first."""
    return Property.objects.select_for_update(no_key=True).get(id=land.id)


def _check(lease: Lease) -> None:
    if lease.first_on > lease.last_on:
        raise ValidationError({"last_on": "Must not lie before first_on."})
    if lease.landowner.cooperative_id != lease.property.cooperative_id:
        raise ValidationError({"landowner": "Must be a person of the property's cooperative."})
    unknown = sorted(set(lease.people) - set(LeasePeople))
    if unknown or not lease.people:
        raise ValidationError({"people": f"Name some of: {', '.join(LeasePeople)}."})
    notice = lease.renewal_notice_on
    if notice is not None and notice > lease.last_on:
        raise ValidationError({"renewal_notice_on": "Must not lie after the term."})
    others = standing_leases(property_id=lease.property_id).exclude(id=lease.id)
    other = others.filter(first_on__lte=lease.last_on, last_on__gte=lease.first_on).first()
    if other is not None:
        raise LeasesOverlap(
            f"A lease from {other.first_on} to {other.last_on} is in force then: end that one "
            "before this one begins."
        )


def _open_again(lease: Lease, *, actor: Actor, now: datetime) -> None:
    """Days that were closed because a term had passed open where a lease covers them now.

    What of such a closure no lease covers is refused by the house rule all the same.
    """
    closed = Lease.objects.select_for_update(of=("self",)).filter(
        property_id=lease.property_id,
        closure__lifted_at=None,
        closure__first_on__lte=lease.last_on,
        closure__last_on__gte=lease.first_on,
    )
    for row in closed.select_related("closure").order_by("id"):
        assert row.closure is not None
        lift_closure(actor=actor, closure=row.closure, now=now)
        _write(actor, row, {"closure": None}, now, reason="another lease covers these days")
    lease.refresh_from_db()


def _write(
    actor: Actor, lease: Lease, changes: Mapping[str, Any], now: datetime, *, reason: str = ""
) -> None:
    writing.change(
        lease,
        changes,
        actor=actor,
        action=Action.LEASE_WRITE,
        now=now,
        property_id=lease.property_id,
        reason=reason,
    )
