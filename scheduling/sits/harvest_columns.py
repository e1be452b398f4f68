"""What is written down of one deer beside its class, time and hunter."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from properties.sessions.weapons import Weapon


class AgeMethod(models.TextChoices):
    """How an age was told. Tooth wear is read from the lower jaw and errs by a year or more."""

    TOOTH_WEAR = "tooth_wear"
    CEMENTUM = "cementum"
    KNOWN = "known"
    ESTIMATE = "estimate"


class SampleResult(models.TextChoices):
    PENDING = "pending"
    NOT_DETECTED = "not_detected"
    DETECTED = "detected"
    UNSUITABLE = "unsuitable"


class HarvestColumns(models.Model):
    """Place (degrees, WGS 84), weapon, age, weight, antlers (mm), sample and check numbers.

    Everything may be unknown. ``beam_length_mm`` is the longer main beam,
    ``antler_points`` those of both sides, ``inside_spread_mm`` the widest between the beams.
    ``individual`` is the name given to this deer in pictures. What is plausible is a setting;
    the limits here only keep nonsense out of the columns.
    """

    longitude = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(-180), MaxValueValidator(180)]
    )
    latitude = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(-90), MaxValueValidator(90)]
    )
    weapon = models.CharField(
        max_length=20, blank=True, choices=[(weapon.value, weapon.value) for weapon in Weapon]
    )
    age_years = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(100)]
    )
    age_method = models.CharField(max_length=12, blank=True, choices=AgeMethod)
    dressed_weight_kg = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(300)]
    )
    lactating = models.BooleanField(null=True, blank=True)
    beam_length_mm = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(3_000)]
    )
    base_circumference_mm = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(3_000)]
    )
    inside_spread_mm = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(3_000)]
    )
    antler_points = models.PositiveSmallIntegerField(null=True, blank=True)
    sample_number = models.CharField(max_length=60, blank=True)
    sample_result = models.CharField(max_length=12, blank=True, choices=SampleResult)
    check_number = models.CharField(max_length=60, blank=True)
    individual = models.CharField(max_length=60, blank=True)

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=models.Q(longitude__isnull=True, latitude__isnull=True)
                | models.Q(longitude__isnull=False, latitude__isnull=False),
                name="%(class)s_has_both_coordinates_or_none",
            ),
        ]
