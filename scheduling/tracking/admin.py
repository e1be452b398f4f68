"""Trackings in the admin: to look at; the API writes them, and tells people."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from coop.read_only_admin import ReadOnlyInline
from scheduling.tracking.models import Neighbour, Tracker, TrackerNotice, Tracking


class TrackerInline(ReadOnlyInline):
    model = Tracker


@admin.register(Tracking)
class TrackingAdmin(ReadOnlyAdmin):
    list_display = ["opened_at", "property", "hunter", "hit_kind", "outcome", "ended_at"]
    list_filter = ["property", "outcome"]
    list_select_related = ["property", "hunter"]
    inlines = [TrackerInline]


@admin.register(Tracker)
class TrackerAdmin(ReadOnlyAdmin):
    list_display = ["joined_at", "person", "name", "area", "back_by", "left_at"]
    list_select_related = ["person"]


@admin.register(TrackerNotice)
class TrackerNoticeAdmin(ReadOnlyAdmin):
    list_display = ["raised_at", "tracker", "ladder_number", "rung"]


@admin.register(Neighbour)
class NeighbourAdmin(ReadOnlyAdmin):
    list_display = ["name", "property", "ground", "may_enter", "asked_on", "retired_at"]
    list_filter = ["property"]
    list_select_related = ["property"]
