"""Fits of the season in the admin."""

from django.contrib import admin

from coop.read_only_admin import ReadOnlyAdmin
from scrapes.visits.models import SeasonFit


@admin.register(SeasonFit)
class SeasonFitAdmin(ReadOnlyAdmin):
    list_display = ["fitted_on", "cooperative", "visits", "scrapes", "is_enough"]
    list_filter = ["is_enough", "cooperative"]
