"""Stands in the admin: to look at. Places are checked, and facts are told, by the API only."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from properties.stands.models import Inspection, Stand, StandExclusion


@admin.register(Stand)
class StandAdmin(ReadOnlyAdmin):
    list_display = [
        "name",
        "property__name",
        "kind",
        "is_open",
        "closed_reason",
        "last_inspected_on",
        "retired_at",
    ]
    list_filter = ["is_open", "kind", "property__name", ("retired_at", admin.EmptyFieldListFilter)]
    list_select_related = ["property"]
    search_fields = ["name"]


@admin.register(Inspection)
class InspectionAdmin(ReadOnlyAdmin):
    list_display = ["stand__name", "inspected_on", "inspected_by", "passed"]
    list_filter = ["passed", "stand__property__name"]
    list_select_related = ["stand"]
    search_fields = ["stand__name"]
    date_hierarchy = "inspected_on"


@admin.register(StandExclusion)
class StandExclusionAdmin(ReadOnlyAdmin):
    list_display = ["first__name", "second__name", "reason"]
    list_select_related = ["first", "second"]
    search_fields = ["first__name", "second__name"]
