"""Seasons as a property's manager entered them; no figure of law is built in."""

from django.db import models

from coop.records import VersionedRecord
from properties.land.models import Property


class Season(VersionedRecord):
    """Dates in which sits are offered, with the weapons this property permits.

    ``classes`` are the classes of deer that may be taken (antlered, antlerless); empty: nothing
    is said. ``youth_only``: days for young hunters alone. ``source_url`` leads to the state's
    page the manager read; the software shows it and states that the dates are this property's
    settings. ``entered_at`` is when they were last written by hand.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="seasons")
    name = models.CharField(max_length=100)
    first_on = models.DateField()
    last_on = models.DateField()
    weapons = models.JSONField(default=list)
    classes = models.JSONField(default=list, blank=True)
    youth_only = models.BooleanField(default=False)
    source_url = models.URLField(blank=True)
    entered_by = models.CharField(max_length=200, blank=True, default="")
    entered_at = models.DateTimeField(null=True, blank=True)
    confirmed_by = models.CharField(max_length=200, blank=True, default="")
    confirmed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(first_on__lte=models.F("last_on")),
                name="season_ends_after_it_begins",
            ),
            models.UniqueConstraint(
                fields=["property", "name", "first_on"], name="season_unique_on_property"
            ),
        ]
