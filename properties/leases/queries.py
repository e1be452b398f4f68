"""Leases that an actor may see, and the one in force on a day."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped, scoped_with_own
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.leases.models import Lease, Rent
from properties.leases.settings import LeaseSettings


def leases_visible_to(*, actor: Actor, action: Action = Action.LEASE_READ) -> QuerySet[Lease]:
    """Whole leases: for whoever keeps them, and for the landowner who signed them."""
    return scoped_with_own(
        Lease.objects.all(),
        actor=actor,
        action=Action.LEASE_WRITE,
        own=("landowner",),
        own_action=action,
    )


def rents_visible_to(*, actor: Actor, action: Action = Action.LEASE_READ) -> QuerySet[Rent]:
    """Rent, for those who see its lease."""
    return Rent.objects.filter(lease__in=leases_visible_to(actor=actor, action=action))


def lease_terms_visible_to(
    *, actor: Actor, action: Action = Action.LEASE_TERMS_READ
) -> QuerySet[Lease]:
    """Leases that stand, for those who are told only what is permitted and until when."""
    return scoped(Lease.objects.filter(withdrawn_at=None), actor=actor, action=action)


def standing_leases(*, property_id: UUID) -> QuerySet[Lease]:
    """Leases of a property that were not withdrawn, in the order they begin."""
    return Lease.objects.filter(property_id=property_id, withdrawn_at=None).order_by(
        "first_on", "id"
    )


def leases_by_property(*, property_ids: Collection[UUID]) -> Mapping[UUID, tuple[Lease, ...]]:
    """The same for several properties in one query; a property without any is not in it."""
    found: dict[UUID, list[Lease]] = defaultdict(list)
    rows = Lease.objects.filter(property__in=property_ids, withdrawn_at=None)
    for row in rows.order_by("first_on", "id"):
        found[row.property_id].append(row)
    return {property_id: tuple(rows) for property_id, rows in found.items()}


def lease_in_force(*, property_id: UUID, on: date) -> Lease | None:
    """The lease whose term covers a local date; None where no lease is entered for it."""
    return (
        standing_leases(property_id=property_id).filter(first_on__lte=on, last_on__gte=on).first()
    )


def lets_vehicles(*, property_id: UUID, on: date) -> bool | None:
    """Whether the lease of a local date lets vehicles on the land; None: nothing is said."""
    lease = lease_in_force(property_id=property_id, on=on)
    return lease.vehicles if lease is not None else None


def lease_settings_of(land: Property) -> LeaseSettings:
    return layered_settings.resolve(LeaseSettings, *setting_layers(land))
