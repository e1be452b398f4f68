"""Dated values of regulation, as somebody read and entered them for one property."""

from django.db import models

from coop.records import VersionedRecord
from properties.land.models import Property
from properties.regulations.kinds import RegulationKind


class Regulation(VersionedRecord):
    """One value from ``first_on`` until ``last_on`` (None: until another is entered).

    ``value`` holds what its kind needs (:mod:`properties.regulations.kinds`). ``source_url`` leads
    to the state's page. Values of one kind and property that are not withdrawn never overlap.
    A value is the property's setting, never a statement of law.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="regulations")
    kind = models.CharField(
        max_length=20, choices=[(kind.value, kind.value) for kind in RegulationKind]
    )
    value = models.JSONField()
    first_on = models.DateField()
    last_on = models.DateField(null=True, blank=True)
    source_url = models.URLField()
    notes = models.CharField(max_length=500, blank=True)
    entered_by = models.CharField(max_length=200)
    entered_at = models.DateTimeField()
    confirmed_by = models.CharField(max_length=200, blank=True)
    confirmed_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last_on__isnull=True)
                | models.Q(first_on__lte=models.F("last_on")),
                name="regulation_ends_after_it_begins",
            ),
            models.CheckConstraint(
                condition=~models.Q(source_url=""), name="regulation_names_its_source"
            ),
        ]
        indexes = [models.Index(fields=["property", "kind", "first_on"], name="regulation_by_kind")]
