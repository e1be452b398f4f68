"""Gates with their locks and sealed codes, parking places, and how to drive there."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from coop.records import Record, Retirable, VersionedRecord
from properties.land.models import Property

_LONGITUDE = [MinValueValidator(-180), MaxValueValidator(180)]
_LATITUDE = [MinValueValidator(-90), MaxValueValidator(90)]


class Lock(models.TextChoices):
    NONE = "none"
    CODE = "code"
    KEY = "key"


class Gate(VersionedRecord, Retirable):
    """A gate: where it is, what locks it, and how it is left. Its code is kept apart."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="gates")
    name = models.CharField(max_length=100)
    longitude = models.FloatField(validators=_LONGITUDE)
    latitude = models.FloatField(validators=_LATITUDE)
    lock = models.CharField(max_length=10, choices=Lock, default=Lock.NONE)
    notes = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "name"],
                condition=models.Q(retired_at__isnull=True),
                name="gate_name_unique_on_property",
            ),
        ]


class GateCode(Record):
    """The code of a gate from a property-local date on, sealed; old ones stay, sealed too.

    ``replaced_at``: entered anew for the same date. Who read it when stands in the audit
    record, which nobody can change.
    """

    gate = models.ForeignKey(Gate, on_delete=models.PROTECT, related_name="codes")
    holds_from = models.DateField()
    sealed = models.BinaryField()
    entered_by = models.CharField(max_length=200)
    replaced_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["gate", "holds_from"],
                condition=models.Q(replaced_at__isnull=True),
                name="one_gate_code_from_a_date",
            ),
        ]


class ParkingPlace(VersionedRecord, Retirable):
    """Where hunters leave their vehicles; ``vehicles`` is how many fit, None where unknown."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="parking_places")
    name = models.CharField(max_length=100)
    longitude = models.FloatField(validators=_LONGITUDE)
    latitude = models.FloatField(validators=_LATITUDE)
    vehicles = models.PositiveSmallIntegerField(null=True, blank=True)
    notes = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "name"],
                condition=models.Q(retired_at__isnull=True),
                name="parking_place_name_unique_on_property",
            ),
        ]


class DrivingDirections(VersionedRecord):
    """How to drive to a property, and what its owner asks of vehicles.

    ``vehicle_needed``: whoever goes there says first what they drive, so that the landowner
    knows whose it is.
    """

    property = models.OneToOneField(
        Property, on_delete=models.PROTECT, related_name="driving_directions"
    )
    directions = models.TextField(blank=True)
    vehicle_rule = models.TextField(blank=True)
    vehicle_needed = models.BooleanField(default=True)
