"""What was reported of a sit: wind as felt, deer seen, deer that noticed the hunter."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from coop.records import Record, VersionedRecord
from scheduling.sits.deer_kinds import AgeClass, DeerSex
from scheduling.sits.seat_models import Sit


class SitReport(VersionedRecord):
    """What the hunter reported: wind as felt, deer alarmed, condition of the stand.

    ``wind_felt_quarters`` are up to four objects, one for each quarter of the session, with
    ``quarter`` (1 to 4), ``from_deg`` and ``speed_mps``; the two columns beside it are the
    mean of the whole sit. ``deer_alarmed`` is the sum over the alarms.
    """

    sit = models.OneToOneField(Sit, on_delete=models.PROTECT, related_name="report")
    reported_at = models.DateTimeField()
    wind_felt_quarters = models.JSONField(default=list, blank=True)
    wind_felt_from_deg = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(360)]
    )
    wind_felt_speed_mps = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(60)]
    )
    deer_alarmed = models.PositiveSmallIntegerField(default=0)
    shots = models.PositiveSmallIntegerField(default=0)
    stand_condition = models.CharField(max_length=300, blank=True)
    stand_unsafe = models.BooleanField(default=False)
    incident = models.TextField(blank=True)
    notes = models.TextField(blank=True)


class Sighting(Record):
    """Deer seen during a sit, by sex and age class; unknown is a class."""

    report = models.ForeignKey(SitReport, on_delete=models.CASCADE, related_name="sightings")
    sex = models.CharField(max_length=10, choices=DeerSex, default=DeerSex.UNKNOWN)
    age_class = models.CharField(max_length=10, choices=AgeClass, default=AgeClass.UNKNOWN)
    count = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    distance_m = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0)])


class AlarmSense(models.TextChoices):
    WINDED = "winded"
    SAW = "saw"
    HEARD = "heard"
    UNKNOWN = "unknown"


class DeerAlarm(Record):
    """Deer that noticed the hunter: how, where from the stand, and when."""

    report = models.ForeignKey(SitReport, on_delete=models.CASCADE, related_name="alarms")
    sense = models.CharField(max_length=10, choices=AlarmSense, default=AlarmSense.UNKNOWN)
    count = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    happened_at = models.DateTimeField(null=True, blank=True)
    distance_m = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0)])
    bearing_deg = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(360)]
    )
    where = models.CharField(max_length=200, blank=True)
