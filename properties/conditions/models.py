"""Conditions that somebody told of a property: thunder, fire danger, water, ice."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from coop.records import VersionedRecord
from properties.land.models import Property


class ConditionKind(models.TextChoices):
    THUNDER = "thunder"
    FIRE_DANGER = "fire_danger"
    WATER = "water"
    ICE = "ice"


class Condition(VersionedRecord):
    """One condition from ``starts_at`` until ``ends_at`` (None: until it is withdrawn).

    The figure belongs to the kind: ``thunder_chance`` 0..1 (1: a warning is in force),
    ``fire_danger_level`` 1 (low) to 5 (extreme), ``water_level_m`` the gauge height that is
    read or forecast; ice has none. ``source`` says where it is known from, and ``reference``
    is the source's own name for it, by which an import knows it again.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="conditions")
    kind = models.CharField(max_length=12, choices=ConditionKind)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField(null=True, blank=True)
    thunder_chance = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(1)]
    )
    fire_danger_level = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(5)]
    )
    water_level_m = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(-50), MaxValueValidator(100)]
    )
    source = models.CharField(max_length=200)
    reference = models.CharField(max_length=100, blank=True)
    entered_by = models.CharField(max_length=200)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ends_at__isnull=True)
                | models.Q(ends_at__gt=models.F("starts_at")),
                name="condition_ends_after_it_begins",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    kind="thunder",
                    thunder_chance__isnull=False,
                    fire_danger_level__isnull=True,
                    water_level_m__isnull=True,
                )
                | models.Q(
                    kind="fire_danger",
                    thunder_chance__isnull=True,
                    fire_danger_level__isnull=False,
                    water_level_m__isnull=True,
                )
                | models.Q(
                    kind="water",
                    thunder_chance__isnull=True,
                    fire_danger_level__isnull=True,
                    water_level_m__isnull=False,
                )
                | models.Q(
                    kind="ice",
                    thunder_chance__isnull=True,
                    fire_danger_level__isnull=True,
                    water_level_m__isnull=True,
                ),
                name="condition_has_the_figure_of_its_kind",
            ),
            models.UniqueConstraint(
                fields=["property", "source", "reference"],
                condition=~models.Q(reference="") & models.Q(withdrawn_at__isnull=True),
                name="condition_once_for_each_reference",
            ),
        ]
        indexes = [models.Index(fields=["property", "starts_at", "ends_at"], name="condition_span")]
