"""Scent applied, and what each review of a scrape found."""

from django.db import models

from coop.records import Record
from properties.people.models import Person
from scrapes.sites.models import Scrape


class Substance(models.TextChoices):
    SCENT = "scent"
    FEED = "feed"
    MINERALS = "minerals"


class ScentApplication(Record):
    """Scent put on a scrape, or feed or minerals put out there: when, by whom, which.

    ``scent`` is its name, of whichever ``substance``. A refresh is scent alone.
    """

    scrape = models.ForeignKey(Scrape, on_delete=models.PROTECT, related_name="applications")
    applied_at = models.DateTimeField()
    applied_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    substance = models.CharField(max_length=10, choices=Substance, default=Substance.SCENT)
    scent = models.CharField(max_length=60)
    notes = models.CharField(max_length=300, blank=True)


class ReviewVerdict(models.TextChoices):
    STEADY = "steady"
    REFRESH = "refresh"
    CHECK_CAMERA = "check_camera"
    REST_STAND = "rest_stand"
    PROPERTY_WIDE = "property_wide"
    WAIT = "wait"
    UNKNOWN = "unknown"


class ScrapeReview(Record):
    """What the review of one scrape on one day found, with every figure behind it.

    ``care_asked`` tells that this review sent somebody or told the managers, so that the reviews
    of the days after it need not.
    """

    scrape = models.ForeignKey(Scrape, on_delete=models.CASCADE, related_name="reviews")
    reviewed_on = models.DateField()
    verdict = models.CharField(max_length=20, choices=ReviewVerdict)
    sentence = models.CharField(max_length=500)
    figures = models.JSONField(default=dict)
    care_asked = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["scrape", "reviewed_on"], name="one_review_of_a_scrape_a_day"
            ),
        ]
