"""Seasons as a property's manager entered them; no figure of law is built in."""

from django.db import models

from coop.records import VersionedRecord
from properties.land.models import Property


class Season(VersionedRecord):
    """Dates in which sits are offered, with the weapons this property permits.

    ``source_url`` leads to the state's page the manager read; the software shows it and
    states that the dates are this property's settings.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="seasons")
    name = models.CharField(max_length=100)
    first_on = models.DateField()
    last_on = models.DateField()
    weapons = models.JSONField(default=list)
    source_url = models.URLField(blank=True)

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
