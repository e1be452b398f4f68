"""Emergencies in the admin: to look at; never a word of a medical note."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from properties.emergency.models import (
    Emergency,
    EmergencySheet,
    MedicalNote,
    NoteReading,
    StandEmergency,
)


@admin.register(EmergencySheet)
class EmergencySheetAdmin(ReadOnlyAdmin):
    list_display = ["property", "hospital_name", "checked_on", "updated_at"]
    list_select_related = ["property"]


@admin.register(StandEmergency)
class StandEmergencyAdmin(ReadOnlyAdmin):
    list_display = ["stand", "road_address", "updated_at"]
    list_select_related = ["stand"]


@admin.register(Emergency)
class EmergencyAdmin(ReadOnlyAdmin):
    list_display = ["declared_at", "property", "person", "declarer_name", "ends_at", "ended_at"]
    list_select_related = ["property", "person"]


@admin.register(NoteReading)
class NoteReadingAdmin(ReadOnlyAdmin):
    list_display = ["read_at", "person", "reader_name"]
    list_select_related = ["person"]


@admin.register(MedicalNote)
class MedicalNoteAdmin(ReadOnlyAdmin):
    list_display = ["person", "updated_at"]
    list_select_related = ["person"]
    exclude = ["sealed"]
