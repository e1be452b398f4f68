"""Rotation plans in the admin: to look at, not to edit."""

from django.contrib import admin

from coop.read_only_admin import ReadOnlyAdmin
from scheduling.rotation.models import RotationPlan


@admin.register(RotationPlan)
class RotationPlanAdmin(ReadOnlyAdmin):
    list_display = ["computed_at", "cooperative", "first_on", "last_on", "state", "published_by"]
    list_filter = ["state", "cooperative"]
    exclude = ["problem"]
