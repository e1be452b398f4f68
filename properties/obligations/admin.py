"""Work days in the admin, to look at. Dues are shown as clear or not, and never their amount."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from properties.obligations.models import Due, WorkDay


@admin.register(Due)
class DueAdmin(ReadOnlyAdmin):
    list_display = ["person__name", "season_year", "due_on", "paid_on"]
    list_filter = ["season_year"]
    list_select_related = ["person"]
    exclude = ["amount", "currency"]


@admin.register(WorkDay)
class WorkDayAdmin(ReadOnlyAdmin):
    list_display = ["person__name", "property__name", "worked_on", "hours", "withdrawn_at"]
    list_filter = ["property__name"]
    list_select_related = ["person", "property"]
    date_hierarchy = "worked_on"
