"""The list in the admin: to look at; the API and the job write it."""

from django.contrib import admin

from coop.read_only_admin import ReadOnlyAdmin
from scheduling.worklist.models import WorkItem, WorkTemplate


@admin.register(WorkTemplate)
class WorkTemplateAdmin(ReadOnlyAdmin):
    list_display = ["title", "property", "task", "anchor", "offset_weeks", "retired_at"]
    list_filter = ["task", "property"]
    list_select_related = ["property"]


@admin.register(WorkItem)
class WorkItemAdmin(ReadOnlyAdmin):
    list_display = ["week_on", "property", "task", "title", "state"]
    list_filter = ["state", "task", "property"]
    list_select_related = ["property"]
