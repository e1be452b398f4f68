"""What has changed, in the admin: to look at."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from scheduling.sync.models import Change, ChangeCount


@admin.register(Change)
class ChangeAdmin(ReadOnlyAdmin):
    list_display = ["changed_at", "number", "cooperative", "property_id", "sit_id"]
    list_filter = ["cooperative"]


@admin.register(ChangeCount)
class ChangeCountAdmin(ReadOnlyAdmin):
    list_display = ["cooperative", "last_number", "forgotten_number"]
