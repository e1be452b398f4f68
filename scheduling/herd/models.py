"""Camera surveys: where, when, with which cameras, and what was made of the pictures."""

from django.core.validators import MinValueValidator
from django.db import models

from coop.records import Retirable, VersionedRecord
from properties.land.models import Property
from properties.people.models import Person
from scrapes.cameras.models import CameraUnit


class CountedFrom(models.TextChoices):
    PICTURES = "pictures"
    ENTERED = "entered"


class CameraSurvey(VersionedRecord, Retirable):
    """One survey over local dates, both included.

    Pictures count animals by class; they are counted from the cameras' pictures or entered.
    ``unique_bucks`` is a person's judgement, so whose and when is kept with it. ``area_m2`` is
    the ground from which deer come to the cameras. An empty ``species`` takes all deer.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="camera_surveys")
    name = models.CharField(max_length=100)
    first_on = models.DateField()
    last_on = models.DateField()
    cameras = models.ManyToManyField(CameraUnit, blank=True, related_name="surveys")
    species = models.CharField(max_length=100, blank=True)
    area_m2 = models.FloatField(validators=[MinValueValidator(1)])
    buck_pictures = models.PositiveIntegerField(null=True, blank=True)
    doe_pictures = models.PositiveIntegerField(null=True, blank=True)
    fawn_pictures = models.PositiveIntegerField(null=True, blank=True)
    unknown_pictures = models.PositiveIntegerField(null=True, blank=True)
    counted_from = models.CharField(max_length=10, choices=CountedFrom, blank=True)
    counted_at = models.DateTimeField(null=True, blank=True)
    unique_bucks = models.PositiveIntegerField(null=True, blank=True)
    bucks_decided_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    bucks_decided_at = models.DateTimeField(null=True, blank=True)
    notes = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(first_on__lte=models.F("last_on")),
                name="survey_ends_after_it_begins",
            ),
            models.UniqueConstraint(
                fields=["property", "name"],
                condition=models.Q(retired_at__isnull=True),
                name="survey_name_unique_on_property",
            ),
            models.CheckConstraint(
                condition=models.Q(unique_bucks__isnull=True)
                | models.Q(bucks_decided_at__isnull=False),
                name="survey_says_who_told_bucks_apart",
            ),
        ]
