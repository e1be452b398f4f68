"""Reports are read here, never edited; notes are entered for landowners."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from coop.reports.models import LandNote, MonthlyReport, SeasonReport


@admin.register(MonthlyReport)
class MonthlyReportAdmin(admin.ModelAdmin):
    list_display = ["property", "month", "edition", "data_cut_off_at", "pdf_missing_reason"]
    list_filter = ["property", "month"]
    list_select_related = ["property"]
    date_hierarchy = "month"
    exclude = ["html", "appendix_html", "pdf"]

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(SeasonReport)
class SeasonReportAdmin(admin.ModelAdmin):
    list_display = ["cooperative", "season_year", "edition", "data_cut_off_at"]
    list_filter = ["cooperative", "season_year"]
    list_select_related = ["cooperative"]
    exclude = ["html", "pdf"]

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(LandNote)
class LandNoteAdmin(admin.ModelAdmin):
    list_display = ["property", "happened_on", "topic", "what", "retired_at"]
    list_filter = ["property", "topic"]
    list_select_related = ["property"]
    search_fields = ["what", "done"]
    date_hierarchy = "happened_on"
    readonly_fields = ["version"]

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
