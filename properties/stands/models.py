"""Stands: fixed places to hunt from."""

import math

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from coop.records import Record, Retirable, VersionedRecord
from properties.land.models import Property


def finite(value: float) -> None:
    """Bounds alone let a NaN pass, since it compares false with everything."""
    if not math.isfinite(value):
        raise ValidationError("Must be a finite number.")


def bearing(value: float) -> None:
    """Degrees true; north is 0 and never 360, so that each bearing is written one way."""
    if not 0 <= value < 360:
        raise ValidationError("Must be at least 0 and below 360 degrees true.")


class StandKind(models.TextChoices):
    LADDER = "ladder"
    HANG_ON = "hang_on"
    TOWER = "tower"
    GROUND_BLIND = "ground_blind"


class Cover(models.TextChoices):
    OPEN = "open"
    EDGE = "edge"
    WOODS = "woods"


class Stand(VersionedRecord, Retirable):
    """A ladder or hang-on tree stand, a tower, or a ground blind.

    The shooting arc runs clockwise from ``arc_from_deg`` to ``arc_to_deg`` (degrees true;
    equal values mean all round). ``approach_route`` and ``exit_route`` are GeoJSON
    LineStrings in the order walked; without an exit route the approach is walked back.
    ``flood_stage_m`` is the gauge height at which it or a route to it floods (None: never).
    ``rest_days`` overrides the property's setting.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="stands")
    name = models.CharField(max_length=100)
    kind = models.CharField(max_length=20, choices=StandKind)
    longitude = models.FloatField()
    latitude = models.FloatField()
    seat_height_m = models.FloatField(
        default=0, validators=[finite, MinValueValidator(0), MaxValueValidator(30)]
    )
    arc_from_deg = models.FloatField(default=0, validators=[bearing])
    arc_to_deg = models.FloatField(default=0, validators=[bearing])
    shot_distance_m = models.FloatField(
        validators=[finite, MinValueValidator(1), MaxValueValidator(1000)]
    )
    capacity = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(10)]
    )
    cover = models.CharField(max_length=10, choices=Cover, default=Cover.EDGE)
    slope_aspect_deg = models.FloatField(null=True, blank=True, validators=[bearing])
    slope_deg = models.FloatField(
        default=0, validators=[finite, MinValueValidator(0), MaxValueValidator(90)]
    )
    approach_route = models.JSONField(null=True, blank=True)
    exit_route = models.JSONField(null=True, blank=True)
    flood_stage_m = models.FloatField(
        null=True, blank=True, validators=[finite, MinValueValidator(-50), MaxValueValidator(100)]
    )
    rest_days = models.PositiveSmallIntegerField(null=True, blank=True)
    last_inspected_on = models.DateField(null=True, blank=True)
    is_open = models.BooleanField(default=True)
    closed_reason = models.CharField(max_length=300, blank=True)
    notes = models.TextField(blank=True)
    settings = models.JSONField(default=dict, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "name"],
                condition=models.Q(retired_at__isnull=True),
                name="stand_name_unique_on_property",
            ),
            models.CheckConstraint(
                condition=models.Q(capacity__gte=1, capacity__lte=10), name="stand_has_a_seat"
            ),
            models.CheckConstraint(
                condition=models.Q(seat_height_m__gte=0, seat_height_m__lte=30),
                name="stand_seat_height_plausible",
            ),
            models.CheckConstraint(
                condition=models.Q(shot_distance_m__gt=0), name="stand_shot_distance_positive"
            ),
            models.CheckConstraint(
                condition=models.Q(arc_from_deg__gte=0, arc_from_deg__lt=360)
                & models.Q(arc_to_deg__gte=0, arc_to_deg__lt=360),
                name="stand_arc_in_degrees",
            ),
        ]

    def is_elevated(self) -> bool:
        """Whether the seat is off the ground: every kind but a ground blind."""
        return self.kind != StandKind.GROUND_BLIND


class Inspection(Record):
    """One inspection of a stand; a failed one closes it."""

    stand = models.ForeignKey(Stand, on_delete=models.PROTECT, related_name="inspections")
    inspected_on = models.DateField()
    inspected_by = models.CharField(max_length=200)
    passed = models.BooleanField()
    notes = models.TextField(blank=True)


class StandExclusion(Record):
    """Two stands that are not used in the same session, and why."""

    first = models.ForeignKey(Stand, on_delete=models.CASCADE, related_name="exclusions_as_first")
    second = models.ForeignKey(Stand, on_delete=models.CASCADE, related_name="exclusions_as_second")
    reason = models.CharField(max_length=300)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["first", "second"], name="exclusion_once_for_each_pair"
            ),
            models.CheckConstraint(
                condition=models.Q(first__lt=models.F("second")), name="exclusion_pair_in_id_order"
            ),
        ]
