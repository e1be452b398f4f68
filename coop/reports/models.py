"""Stored editions of a property's monthly report."""

from django.db import models

from coop.records import Record
from properties.land.models import Property


class MonthlyReport(Record):
    """One edition of one month's report: its figures, and the pages written from them.

    A finished month does not change; a correction makes a new edition.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="monthly_reports")
    month = models.DateField()
    edition = models.PositiveSmallIntegerField(default=1)
    figures = models.JSONField()
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
