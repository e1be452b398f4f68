"""Dues and work days as plain records; no accounting."""

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models

from coop.records import VersionedRecord
from properties.land.models import Property
from properties.land.years import FIRST_YEAR, LAST_YEAR
from properties.people.models import Person


class Due(VersionedRecord):
    """What one person owes for one year: an amount, by when, and on which day it was paid.

    ``season_year`` is the calendar year in which that year begins. Nothing owed (0) is clear.
    """

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="dues")
    season_year = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(FIRST_YEAR), MaxValueValidator(LAST_YEAR)]
    )
    amount = models.DecimalField(max_digits=9, decimal_places=2, validators=[MinValueValidator(0)])
    currency = models.CharField(
        max_length=3, default="USD", validators=[RegexValidator(r"^[A-Z]{3}$")]
    )
    due_on = models.DateField()
    paid_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "season_year"], name="due_once_a_year"),
            models.CheckConstraint(
                condition=models.Q(amount__gte=0), name="due_amount_is_not_negative"
            ),
        ]


class WorkDay(VersionedRecord):
    """Hours that somebody worked on a property on one date, and on what."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="work_days")
    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="work_days")
    worked_on = models.DateField()
    hours = models.DecimalField(
        max_digits=4,
        decimal_places=2,
        validators=[MinValueValidator(0.25), MaxValueValidator(24)],
    )
    what = models.CharField(max_length=300)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(hours__gt=0, hours__lte=24), name="work_hours_of_one_day"
            ),
        ]
        indexes = [
            models.Index(fields=["person", "worked_on"], name="work_by_person"),
            models.Index(fields=["property", "worked_on"], name="work_by_property"),
        ]
