"""Leases as the cooperative signed them, and the dates on which rent is due."""

from django.core.validators import MinValueValidator, RegexValidator
from django.db import models

from coop.records import VersionedRecord
from properties.land.models import Closure, Property
from properties.leases.uses import CameraUse
from properties.people.models import Person


class Lease(VersionedRecord):
    """One lease of one property: its term (local dates, both included) and what it permits.

    ``people`` are those of :class:`properties.leases.uses.LeasePeople` that may hunt. Of the uses,
    None or "" means that the lease says nothing: ``weapons`` and ``scents`` are lists of which
    nothing else is permitted, ``vehicles`` and ``feed`` permitted or not. ``most_hunters`` caps
    the hunters in one session. Leases of one property that are not withdrawn never overlap.
    ``closure`` closed the property when the term had passed.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="leases")
    landowner = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="leases")
    first_on = models.DateField()
    last_on = models.DateField()
    renewal_notice_on = models.DateField(null=True, blank=True)
    insured_until = models.DateField(null=True, blank=True)
    people = models.JSONField(default=list)
    most_hunters = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1)]
    )
    weapons = models.JSONField(null=True, blank=True)
    vehicles = models.BooleanField(null=True, blank=True)
    vehicles_note = models.CharField(max_length=300, blank=True)
    cameras = models.CharField(
        max_length=20, blank=True, choices=[(use.value, use.value) for use in CameraUse]
    )
    scents = models.JSONField(null=True, blank=True)
    feed = models.BooleanField(null=True, blank=True)
    notes = models.TextField(blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    closure = models.ForeignKey(
        Closure, null=True, blank=True, on_delete=models.PROTECT, related_name="+", editable=False
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(first_on__lte=models.F("last_on")),
                name="lease_ends_after_it_begins",
            ),
        ]
        indexes = [models.Index(fields=["property", "first_on"], name="lease_by_property")]


class Rent(VersionedRecord):
    """A sum that is due under a lease, and when it was paid. A record, no accounting."""

    lease = models.ForeignKey(Lease, on_delete=models.PROTECT, related_name="rents")
    amount = models.DecimalField(max_digits=12, decimal_places=2, validators=[MinValueValidator(0)])
    currency = models.CharField(max_length=3, validators=[RegexValidator(r"^[A-Z]{3}$")])
    due_on = models.DateField()
    paid_on = models.DateField(null=True, blank=True)
    notes = models.CharField(max_length=300, blank=True)
