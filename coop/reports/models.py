"""Stored editions of a property's monthly report, and what managers tell in them."""

from django.db import models

from coop.records import Record, Retirable, VersionedRecord
from properties.land.models import Cooperative, Feature, Property


class MonthlyReport(Record):
    """One edition of one month's report: its figures, and the pages written from them.

    A finished month does not change; a correction makes a new edition, and ``changes`` says
    in sentences what it changed.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="monthly_reports")
    month = models.DateField()
    edition = models.PositiveSmallIntegerField(default=1)
    figures = models.JSONField()
    changes = models.JSONField(default=list, blank=True)
    summary = models.TextField(blank=True)
    html = models.TextField()
    appendix_html = models.TextField(blank=True)
    pdf = models.BinaryField(null=True, blank=True)
    pdf_missing_reason = models.CharField(max_length=300, blank=True)
    data_cut_off_at = models.DateTimeField()
    digest = models.CharField(max_length=64)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "month", "edition"], name="one_report_for_each_edition"
            ),
            models.CheckConstraint(
                condition=models.Q(month__day=1), name="report_month_is_its_first_day"
            ),
        ]


class SeasonReport(Record):
    """One edition of the report on a cooperative's whole season, stored as a month's is.

    ``season_year`` is the calendar year in which the season's year began.
    """

    cooperative = models.ForeignKey(
        Cooperative, on_delete=models.PROTECT, related_name="season_reports"
    )
    season_year = models.PositiveSmallIntegerField()
    edition = models.PositiveSmallIntegerField(default=1)
    figures = models.JSONField()
    changes = models.JSONField(default=list, blank=True)
    summary = models.TextField(blank=True)
    html = models.TextField()
    pdf = models.BinaryField(null=True, blank=True)
    pdf_missing_reason = models.CharField(max_length=300, blank=True)
    data_cut_off_at = models.DateTimeField()
    digest = models.CharField(max_length=64)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["cooperative", "season_year", "edition"],
                name="one_season_report_for_each_edition",
            ),
        ]


class NoteTopic(models.TextChoices):
    INCIDENT = "incident"
    GATE = "gate"
    DAMAGE = "damage"
    WORK = "work"


class LandNote(VersionedRecord, Retirable):
    """What a manager tells the landowner, in words meant for them: what happened, what was done.

    What hunters write in their own reports never reaches the page: it may name a suspect or a
    place. A note about work may point at the mapped feature on which the work was done.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="land_notes")
    happened_on = models.DateField()
    topic = models.CharField(max_length=10, choices=NoteTopic)
    what = models.CharField(max_length=300)
    done = models.CharField(max_length=300, blank=True)
    feature = models.ForeignKey(
        Feature, null=True, blank=True, on_delete=models.PROTECT, related_name="land_notes"
    )

    class Meta:
        indexes = [models.Index(fields=["property", "happened_on"], name="land_note_by_day")]
