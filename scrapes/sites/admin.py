"""Scrapes in the admin."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from scrapes.sites.models import Scrape, ScrapeEvent


class ScrapeEventInline(admin.TabularInline):
    model = ScrapeEvent
    extra = 0
    can_delete = False


@admin.register(Scrape)
class ScrapeAdmin(ReadOnlyAdmin):
    """Read only: a scrape's place is checked, audited and told to the wind by its services."""

    list_display = ["name", "property", "kind", "branch_azimuth_deg", "made_on", "retired_at"]
    list_filter = ["property", "kind"]
    list_select_related = ["property"]
    search_fields = ["name", "notes"]
    inlines = [ScrapeEventInline]
