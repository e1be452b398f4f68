"""What was forecast, what was observed, and the fit computed from it."""

from django.db import models

from coop.records import Record
from properties.land.models import Property
from properties.sessions.kinds import SessionKind
from properties.stands.models import Stand

SESSION_KINDS = [(kind.value, kind.value) for kind in SessionKind]


class ForecastIssue(Record):
    """One issue of a forecast for a property, kept so that it can be told what was known when.

    ``hours`` holds columns of equal length: ``starts_at`` (ISO 8601, UTC),
    ``wind_from_deg``, ``speed_mps``, ``gust_mps``, ``cloud_fraction``, ``temperature_c``,
    ``precipitation_mm``, ``precipitation_chance``; ``null`` is unknown. The same content
    sent twice is one issue.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="forecast_issues")
    source = models.CharField(max_length=40)
    issued_at = models.DateTimeField()
    received_at = models.DateTimeField()
    fingerprint = models.CharField(max_length=64)
    first_hour_at = models.DateTimeField()
    last_hour_at = models.DateTimeField()
    hours = models.JSONField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "fingerprint"], name="forecast_issue_stored_once"
            ),
        ]
        indexes = [models.Index(fields=["property", "-issued_at"], name="forecast_latest")]


class ObservedHour(models.Model):
    """Wind and weather as observed at a station or on the property, one row an instant."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="observed_hours")
    source = models.CharField(max_length=40)
    starts_at = models.DateTimeField()
    wind_from_deg = models.FloatField(null=True)
    variable = models.BooleanField(default=False)
    speed_mps = models.FloatField(null=True)
    gust_mps = models.FloatField(null=True)
    cloud_fraction = models.FloatField(null=True)
    temperature_c = models.FloatField(null=True)
    precipitation_mm = models.FloatField(null=True)
    raw = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "source", "starts_at"], name="observed_hour_stored_once"
            ),
            models.CheckConstraint(
                condition=models.Q(wind_from_deg__isnull=True)
                | models.Q(wind_from_deg__gte=0, wind_from_deg__lte=360),
                name="observed_direction_in_degrees",
            ),
        ]
        indexes = [models.Index(fields=["property", "starts_at"], name="observed_by_time")]


class SessionFit(Record):
    """The latest fit of one stand in one session.

    ``fingerprint`` covers forecast, geometry and settings: where it still holds the fit is
    read, not computed again. ``fit`` and ``worst_place`` are null where the wind is unknown.
    ``detail`` is the chain of numbers behind the two, hour by hour and part by part.
    """

    property = models.ForeignKey(Property, on_delete=models.CASCADE, related_name="+")
    stand = models.ForeignKey(Stand, on_delete=models.CASCADE, related_name="fits")
    local_date = models.DateField()
    kind = models.CharField(max_length=10, choices=SESSION_KINDS)
    issue = models.ForeignKey(ForecastIssue, null=True, on_delete=models.PROTECT, related_name="+")
    fingerprint = models.CharField(max_length=64)
    computed_at = models.DateTimeField()
    starts_at = models.DateTimeField(null=True)
    ends_at = models.DateTimeField(null=True)
    fit = models.FloatField(null=True)
    worst_place = models.FloatField(null=True)
    fits = models.BooleanField(default=False)
    verdict = models.CharField(max_length=10)
    sector_per_mille = models.JSONField(default=list)
    gust_mps = models.FloatField(null=True)
    main_reason = models.CharField(max_length=300, blank=True)
    detail = models.JSONField(default=dict)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["stand", "local_date", "kind"], name="one_fit_for_each_stand_and_session"
            ),
        ]
        indexes = [
            models.Index(fields=["property", "local_date", "kind"], name="fit_by_property_session")
        ]
