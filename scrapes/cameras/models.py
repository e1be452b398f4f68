"""Camera units, where they hung, when they did not work, and what they saw."""

from django.db import models

from coop.records import Record, Retirable, VersionedRecord
from properties.land.models import Property
from scrapes.sites.models import Scrape


class CameraUnit(VersionedRecord, Retirable):
    """One camera, kept at one property; ``transmits`` tells it from one whose card is pulled."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="cameras")
    name = models.CharField(max_length=60)
    serial_number = models.CharField(max_length=60, blank=True)
    transmits = models.BooleanField(default=False)
    notes = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "name"],
                condition=models.Q(retired_at__isnull=True),
                name="camera_name_unique_on_property",
            ),
        ]


class Deployment(VersionedRecord):
    """A camera hanging at a scrape from ``starts_at`` until ``ends_at`` (null: still hanging).

    Deployments of one camera never overlap: an exclusion constraint on PostgreSQL and
    triggers on SQLite hold that.
    """

    camera = models.ForeignKey(CameraUnit, on_delete=models.PROTECT, related_name="deployments")
    scrape = models.ForeignKey(Scrape, on_delete=models.PROTECT, related_name="deployments")
    code = models.CharField(max_length=100, blank=True)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField(null=True, blank=True)
    longitude = models.FloatField()
    latitude = models.FloatField()
    heading_deg = models.FloatField(null=True, blank=True)
    height_m = models.FloatField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ends_at__isnull=True)
                | models.Q(ends_at__gt=models.F("starts_at")),
                name="deployment_ends_after_it_begins",
            ),
        ]
        indexes = [models.Index(fields=["scrape", "starts_at"], name="deployment_by_scrape")]


class OutageKind(models.TextChoices):
    STOLEN = "stolen"
    DEAD = "dead"
    FULL = "full"
    OBSCURED = "obscured"


class Outage(VersionedRecord):
    """A time in which a deployed camera did not work; its ends may be estimates."""

    deployment = models.ForeignKey(Deployment, on_delete=models.CASCADE, related_name="outages")
    kind = models.CharField(max_length=10, choices=OutageKind)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField(null=True, blank=True)
    estimated = models.BooleanField(default=False)
    notes = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ends_at__isnull=True)
                | models.Q(ends_at__gt=models.F("starts_at")),
                name="outage_ends_after_it_begins",
            ),
        ]


class CameraStatus(Record):
    """A sign of life: a transmitted heartbeat, or what was read when the card was pulled."""

    camera = models.ForeignKey(CameraUnit, on_delete=models.CASCADE, related_name="statuses")
    reported_at = models.DateTimeField()
    card_pulled = models.BooleanField(default=False)
    battery_pct = models.FloatField(null=True, blank=True)
    card_used_pct = models.FloatField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["camera", "reported_at"], name="one_status_for_each_instant"
            ),
        ]


class ObservationSource(VersionedRecord):
    """How somebody's table of observations is to be read, kept for the next one.

    ``columns`` hold the fields of ``ColumnMapping``; an import that names the source uses them.
    """

    property = models.ForeignKey(
        Property, on_delete=models.PROTECT, related_name="observation_sources"
    )
    name = models.CharField(max_length=40)
    columns = models.JSONField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "name"], name="observation_source_name_unique_on_property"
            ),
        ]


class ObservationImport(Record):
    """One import of observations with its reconciliation; the same content is taken once.

    ``rows_read`` = taken + set aside + held already + skipped, which ``skipped_by_code`` counts
    and ``skipped`` names line by line as far as the settings allow. ``outside_times`` tells
    of the rows of each deployment (by id) whose time lies outside it, ``daylight_told`` of those
    said to be taken by daylight and how many carry a time of night: what a wrong clock leaves.
    """

    property = models.ForeignKey(
        Property, on_delete=models.PROTECT, related_name="observation_imports"
    )
    source = models.CharField(max_length=40)
    file_name = models.CharField(max_length=200)
    digest = models.CharField(max_length=64)
    imported_at = models.DateTimeField()
    rows_read = models.PositiveIntegerField()
    rows_taken = models.PositiveIntegerField()
    rows_set_aside = models.PositiveIntegerField(default=0)
    rows_held = models.PositiveIntegerField(default=0)
    skipped_by_code = models.JSONField(default=dict, blank=True)
    # Not editable: the audit record keeps the counts, not a thousand lines.
    skipped = models.JSONField(default=list, blank=True, editable=False)
    outside_times = models.JSONField(default=dict, blank=True)
    daylight_told = models.JSONField(default=dict, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["property", "digest"], name="same_content_taken_once"),
        ]


class ObservationKind(models.TextChoices):
    ANIMAL = "animal"
    HUMAN = "human"
    VEHICLE = "vehicle"
    BLANK = "blank"
    UNKNOWN = "unknown"
    UNCLASSIFIED = "unclassified"


class Observation(models.Model):
    """What one picture, or one event of several pictures (``event_level``), shows.

    ``source_key`` is the row's identity in its source; the same row never enters twice.
    """

    deployment = models.ForeignKey(
        Deployment, on_delete=models.PROTECT, related_name="observations"
    )
    batch = models.ForeignKey(
        ObservationImport, on_delete=models.PROTECT, related_name="observations"
    )
    source_key = models.CharField(max_length=120)
    observed_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    kind = models.CharField(max_length=12, choices=ObservationKind)
    species = models.CharField(max_length=100, blank=True)
    count = models.PositiveSmallIntegerField(null=True)
    sex = models.CharField(max_length=10, blank=True)
    life_stage = models.CharField(max_length=10, blank=True)
    individual = models.CharField(max_length=60, blank=True)
    event_level = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["deployment", "source_key"], name="observation_stored_once"
            ),
        ]
        indexes = [models.Index(fields=["deployment", "observed_at"], name="observation_by_time")]
