"""Seasons in the admin: to look at; the API checks them and tells that they changed."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from properties.sessions.models import Season


@admin.register(Season)
class SeasonAdmin(ReadOnlyAdmin):
    list_display = ["name", "property__name", "first_on", "last_on", "weapons", "source_url"]
    list_filter = ["property__name"]
    list_select_related = ["property"]
    search_fields = ["name"]
    date_hierarchy = "first_on"
