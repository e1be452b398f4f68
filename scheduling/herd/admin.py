"""Camera surveys in the admin: to look at; they are kept by services."""

from django.contrib import admin

from coop.read_only_admin import ReadOnlyAdmin
from scheduling.herd.models import CameraSurvey


@admin.register(CameraSurvey)
class CameraSurveyAdmin(ReadOnlyAdmin):
    list_display = ["name", "property", "first_on", "last_on", "unique_bucks", "counted_from"]
    list_filter = ["property"]
    list_select_related = ["property"]
