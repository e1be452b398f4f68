"""Cameras in the admin: read only, since deployments and imports are written by services."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from scrapes.cameras.models import (
    CameraStatus,
    CameraUnit,
    Deployment,
    Observation,
    ObservationImport,
    ObservationSource,
    Outage,
)


@admin.register(CameraUnit)
class CameraUnitAdmin(ReadOnlyAdmin):
    list_display = ["name", "property", "serial_number", "transmits", "retired_at"]
    list_filter = ["property", "transmits"]
    list_select_related = ["property"]
    search_fields = ["name", "serial_number"]


@admin.register(Deployment)
class DeploymentAdmin(ReadOnlyAdmin):
    list_display = ["camera", "scrape", "code", "starts_at", "ends_at", "heading_deg"]
    list_filter = ["scrape__property"]
    list_select_related = ["camera", "scrape"]
    search_fields = ["code", "camera__name", "scrape__name"]


@admin.register(Outage)
class OutageAdmin(ReadOnlyAdmin):
    list_display = ["deployment_id", "kind", "starts_at", "ends_at", "estimated"]
    list_filter = ["kind"]


@admin.register(CameraStatus)
class CameraStatusAdmin(ReadOnlyAdmin):
    list_display = ["camera", "reported_at", "card_pulled", "battery_pct", "card_used_pct"]
    list_filter = ["card_pulled"]
    list_select_related = ["camera"]


@admin.register(ObservationSource)
class ObservationSourceAdmin(ReadOnlyAdmin):
    list_display = ["name", "property", "updated_at"]
    list_filter = ["property"]
    list_select_related = ["property"]


@admin.register(ObservationImport)
class ObservationImportAdmin(ReadOnlyAdmin):
    list_display = ["imported_at", "property", "source", "file_name", "rows_read", "rows_taken"]
    list_filter = ["property", "source"]
    list_select_related = ["property"]


@admin.register(Observation)
class ObservationAdmin(ReadOnlyAdmin):
    list_display = ["observed_at", "deployment_id", "kind", "species", "count", "individual"]
    list_filter = ["kind"]
    show_full_result_count = False
