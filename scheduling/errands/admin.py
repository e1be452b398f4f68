"""Errands in the admin: to look at; they are opened and closed by services."""

from django.contrib import admin

from coop.read_only_admin import ReadOnlyAdmin
from scheduling.errands.models import Errand


@admin.register(Errand)
class ErrandAdmin(ReadOnlyAdmin):
    list_display = ["due_on", "property", "kind", "reason", "state", "assignee"]
    list_filter = ["state", "kind", "property"]
