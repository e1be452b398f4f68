"""Dated values in the admin: to look at; the API enters and checks them."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from properties.regulations.models import Regulation


@admin.register(Regulation)
class RegulationAdmin(ReadOnlyAdmin):
    list_display = [
        "property",
        "kind",
        "first_on",
        "last_on",
        "entered_by",
        "confirmed_at",
        "withdrawn_at",
    ]
    list_filter = ["kind", "property"]
    list_select_related = ["property"]
