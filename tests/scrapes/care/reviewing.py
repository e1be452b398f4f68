"""Reviewing a property's scrapes: shared by the tests of reviews."""

from coop.access.actors import system_actor
from coop.outbox import services as outbox
from scheduling.errands.models import Errand
from scrapes.care import services
from scrapes.care.models import ScrapeReview
from tests.cast import NOW

FAR = 0.004


def review(land, now=NOW):
    return services.review_property(actor=system_actor("test"), land=land, now=now)


def verdict(scrape):
    return ScrapeReview.objects.get(scrape=scrape).verdict


def drained(now=NOW):
    outbox.drain(now=now)
    return list(Errand.objects.order_by("created_at"))
