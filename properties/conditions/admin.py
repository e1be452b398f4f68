"""Conditions in the admin: to look at; the API enters them, and tells people."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from properties.conditions.models import Condition


@admin.register(Condition)
class ConditionAdmin(ReadOnlyAdmin):
    list_display = [
        "starts_at",
        "ends_at",
        "property",
        "kind",
        "source",
        "entered_by",
        "withdrawn_at",
    ]
    list_filter = ["kind", "property"]
    list_select_related = ["property"]
