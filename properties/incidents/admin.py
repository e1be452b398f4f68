"""Trouble in the admin: to look at; the API enters it. Files are not shown here."""

from django.contrib import admin

from coop.read_only_admin import ReadOnlyAdmin
from properties.incidents.models import (
    Equipment,
    EvidenceContent,
    EvidenceFile,
    FollowUp,
    Incident,
)


@admin.register(Incident)
class IncidentAdmin(ReadOnlyAdmin):
    list_display = ["happened_at", "property", "kind", "state", "told_at"]
    list_filter = ["kind", "state", "property"]
    list_select_related = ["property"]
    exclude = ["what"]


@admin.register(Equipment)
class EquipmentAdmin(ReadOnlyAdmin):
    list_display = ["name", "kind", "serial", "property", "state", "retired_at"]
    list_filter = ["kind", "state", "property"]
    list_select_related = ["property"]


@admin.register(FollowUp)
class FollowUpAdmin(ReadOnlyAdmin):
    list_display = ["at", "incident_id", "entered_by"]


@admin.register(EvidenceFile)
class EvidenceFileAdmin(ReadOnlyAdmin):
    list_display = ["created_at", "name", "media_type", "size_bytes"]
    list_filter = ["media_type"]


@admin.register(EvidenceContent)
class EvidenceContentAdmin(ReadOnlyAdmin):
    list_display = ["file_id", "created_at"]
    fields = ["file"]
