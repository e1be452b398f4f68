"""Scent and reviews in the admin."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from scrapes.care.models import ScentApplication, ScrapeReview


@admin.register(ScentApplication)
class ScentApplicationAdmin(ReadOnlyAdmin):
    """Read only: what is permitted is checked by the service."""

    list_display = ["applied_at", "scrape", "scent", "applied_by", "notes"]
    list_filter = ["scent", "scrape__property"]
    list_select_related = ["scrape", "applied_by"]
    search_fields = ["scrape__name", "scent"]


@admin.register(ScrapeReview)
class ScrapeReviewAdmin(ReadOnlyAdmin):
    list_display = ["reviewed_on", "scrape", "verdict", "care_asked", "sentence"]
    list_filter = ["verdict", "scrape__property"]
    list_select_related = ["scrape"]
    search_fields = ["scrape__name", "sentence"]
