"""Scrapes and what happened to them."""

from django.db import models

from coop.records import Record, Retirable, VersionedRecord
from properties.land.models import Property


class ScrapeKind(models.TextChoices):
    NATIVE = "native"
    MOCK = "mock"


class Scrape(VersionedRecord, Retirable):
    """A licking branch over pawed ground; ``branch_azimuth_deg`` is where the branch points."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="scrapes")
    name = models.CharField(max_length=100)
    kind = models.CharField(max_length=10, choices=ScrapeKind)
    longitude = models.FloatField()
    latitude = models.FloatField()
    branch_azimuth_deg = models.FloatField(null=True, blank=True)
    branch_height_m = models.FloatField(null=True, blank=True)
    made_on = models.DateField(null=True, blank=True)
    notes = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "name"],
                condition=models.Q(retired_at__isnull=True),
                name="scrape_name_unique_on_property",
            ),
            models.CheckConstraint(
                condition=models.Q(branch_azimuth_deg__isnull=True)
                | models.Q(branch_azimuth_deg__gte=0, branch_azimuth_deg__lt=360),
                name="scrape_branch_azimuth_in_degrees",
            ),
        ]


class ScrapeEvent(Record):
    """Something done at a scrape: built, repaired, branch turned, retired."""

    scrape = models.ForeignKey(Scrape, on_delete=models.PROTECT, related_name="events")
    happened_on = models.DateField()
    what = models.CharField(max_length=60)
    notes = models.TextField(blank=True)
