"""Cooperatives, properties, what is mapped on them, and when they are closed."""

from django.core.exceptions import ValidationError
from django.db import models

from coop.records import Record, Retirable, VersionedRecord
from properties.land.years import checked_month_day

USUAL_PEAK_OF_BREEDING = "11-13"
"""Where none is set. Common practice, no source."""


def validate_month_day(text: str) -> None:
    """Raise ValidationError for what is no day ``MM-DD`` of every year."""
    try:
        checked_month_day(text)
    except ValueError as problem:
        raise ValidationError(str(problem), code="invalid") from problem


class Cooperative(VersionedRecord):
    """Hunters who lease land together; the widest layer of settings."""

    name = models.CharField(max_length=200, unique=True)
    settings = models.JSONField(default=dict, blank=True)


class Property(VersionedRecord, Retirable):
    """One leased tract. ``boundary`` is a GeoJSON Polygon or MultiPolygon in WGS 84.

    The bounding box and the centre are derived from the boundary when it is written.
    ``peak_of_breeding`` is the month and day (``MM-DD``) on which everything seasonal hangs.
    """

    cooperative = models.ForeignKey(
        Cooperative, on_delete=models.PROTECT, related_name="properties"
    )
    name = models.CharField(max_length=200)
    time_zone = models.CharField(max_length=60)
    boundary = models.JSONField()
    area_m2 = models.FloatField()
    longitude = models.FloatField()
    latitude = models.FloatField()
    west = models.FloatField()
    south = models.FloatField()
    east = models.FloatField()
    north = models.FloatField()
    peak_of_breeding = models.CharField(
        max_length=5,
        default=USUAL_PEAK_OF_BREEDING,
        validators=[validate_month_day],
        help_text="MM-DD, a day that every year has; answered as an empty text where none is set",
    )
    access_notes = models.TextField(blank=True)
    settings = models.JSONField(default=dict, blank=True)

    @property
    def peak_of_breeding_as_set(self) -> str | None:
        """The peak as it was set; None for a day that some year lacks, as older rows may hold."""
        try:
            return checked_month_day(self.peak_of_breeding)
        except ValueError:
            return None

    @property
    def peak_of_breeding_reckoned(self) -> str:
        """The peak to reckon with: as set, else the usual one."""
        return self.peak_of_breeding_as_set or USUAL_PEAK_OF_BREEDING

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["cooperative", "name"],
                condition=models.Q(retired_at__isnull=True),
                name="property_name_unique_in_cooperative",
            ),
            models.CheckConstraint(
                condition=models.Q(latitude__gte=-90, latitude__lte=90)
                & models.Q(longitude__gte=-180, longitude__lte=180),
                name="property_centre_on_earth",
            ),
        ]


class FeatureKind(models.TextChoices):
    BEDDING = "bedding"
    FOOD_PLOT = "food_plot"
    WATER = "water"
    CORRIDOR = "corridor"
    SANCTUARY = "sanctuary"
    ACCESS_ROUTE = "access_route"
    HAZARD = "hazard"


class HazardSort(models.TextChoices):
    HOUSE = "house"
    ROAD = "road"
    OTHER = "other"


class Feature(VersionedRecord, Retirable):
    """Something mapped on a property; ``geometry`` is GeoJSON in WGS 84.

    A hazard says which sort it is, for the setback that a shooting arc keeps from it, and
    whether the ground stops a shot before it.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="features")
    kind = models.CharField(max_length=20, choices=FeatureKind)
    name = models.CharField(max_length=200)
    geometry = models.JSONField()
    west = models.FloatField()
    south = models.FloatField()
    east = models.FloatField()
    north = models.FloatField()
    notes = models.TextField(blank=True)
    hazard_sort = models.CharField(max_length=10, choices=HazardSort, blank=True)
    has_backstop = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "name"],
                condition=models.Q(retired_at__isnull=True),
                name="feature_name_unique_on_property",
            ),
            models.CheckConstraint(
                condition=models.Q(kind=FeatureKind.HAZARD)
                | models.Q(hazard_sort="", has_backstop=False),
                name="only_a_hazard_has_a_sort",
            ),
        ]
        indexes = [models.Index(fields=["property", "kind"], name="feature_property_kind")]


class ClosurePurpose(models.TextChoices):
    LOGGING = "logging"
    BURN = "burn"
    PLANTING = "planting"
    SPRAYING = "spraying"
    CATTLE = "cattle"
    FAMILY_DAY = "family_day"
    FIRE_DANGER = "fire_danger"
    ICE = "ice"
    FLOOD = "flood"
    OTHER = "other"


class Closure(Record):
    """Days (property's local dates, both included) on which ground is closed, and why.

    ``part`` is what is closed, as GeoJSON in WGS 84; None: the whole property. Where it was
    named by a mapped ``feature``, it keeps that feature's shape as it was then. With a
    ``session_kind`` only the mornings or the evenings of the days are closed.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="closures")
    first_on = models.DateField()
    last_on = models.DateField()
    purpose = models.CharField(max_length=12, choices=ClosurePurpose, default=ClosurePurpose.OTHER)
    reason = models.CharField(max_length=300)
    part = models.JSONField(null=True, blank=True)
    feature = models.ForeignKey(
        Feature, null=True, blank=True, on_delete=models.PROTECT, related_name="closures"
    )
    session_kind = models.CharField(
        max_length=10,
        choices=[("morning", "morning"), ("evening", "evening")],
        blank=True,
        default="",
    )
    lifted_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(first_on__lte=models.F("last_on")),
                name="closure_ends_after_it_begins",
            ),
            models.CheckConstraint(
                condition=models.Q(feature__isnull=True) | models.Q(part__isnull=False),
                name="closure_by_feature_keeps_its_shape",
            ),
        ]
        indexes = [models.Index(fields=["property", "first_on", "last_on"], name="closure_days")]
