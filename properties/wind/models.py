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


class StandWind(Record):
    """What a stand does to the wind, learned from reports: one row a stand.

    ``offset_deg``, ``spread_deg`` and ``counts`` hold a figure for each of 8 sectors, north
    first, clockwise; ``reports`` counts the sits behind them. ``found_spread_deg`` is the
    spread as found, not shrunk towards the prior; null where too few sits tell of it. A
    stand without a row has no offset and the prior's spread.
    """

    property = models.ForeignKey(Property, on_delete=models.CASCADE, related_name="+")
    stand = models.OneToOneField(Stand, on_delete=models.CASCADE, related_name="wind")
    learned_at = models.DateTimeField()
    fingerprint = models.CharField(max_length=64)
    offset_deg = models.JSONField()
    spread_deg = models.JSONField()
    counts = models.JSONField()
    reports = models.PositiveIntegerField()
    found_spread_deg = models.FloatField(null=True)
    holds = models.BooleanField()
    unsteady_sectors = models.JSONField(default=list)


class FitCalibration(Record):
    """What was forecast for reported sits against what came of them: one row a property.

    ``result`` is as :meth:`properties.wind.calibration.Calibration.as_dict` writes it, with
    the alert distance that reports suggest; nothing is ever applied from here.
    """

    property = models.OneToOneField(Property, on_delete=models.CASCADE, related_name="+")
    computed_at = models.DateTimeField()
    fingerprint = models.CharField(max_length=64)
    result = models.JSONField()


class WindHistory(Record):
    """A past season's observed wind through the model: where each stand could be hunted.

    ``season_year`` is the year in which the season begins; its dates are the property's
    local dates, both included.
    """

    property = models.ForeignKey(Property, on_delete=models.CASCADE, related_name="+")
    season_year = models.PositiveSmallIntegerField()
    first_on = models.DateField()
    last_on = models.DateField()
    computed_at = models.DateTimeField()
    fingerprint = models.CharField(max_length=64)
    result = models.JSONField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "season_year"], name="one_wind_history_for_each_season"
            ),
            models.CheckConstraint(
                condition=models.Q(first_on__lte=models.F("last_on")),
                name="wind_history_ends_after_it_begins",
            ),
        ]
