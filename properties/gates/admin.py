"""Gates in the admin: to look at, without any code; the API keeps them."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from properties.gates.models import DrivingDirections, Gate, GateCode, ParkingPlace


@admin.register(Gate)
class GateAdmin(ReadOnlyAdmin):
    list_display = ["name", "property", "lock", "retired_at"]
    list_filter = ["property", "lock"]
    list_select_related = ["property"]


@admin.register(GateCode)
class GateCodeAdmin(ReadOnlyAdmin):
    list_display = ["gate", "holds_from", "entered_by", "replaced_at", "created_at"]
    list_select_related = ["gate"]
    exclude = ["sealed"]


@admin.register(ParkingPlace)
class ParkingPlaceAdmin(ReadOnlyAdmin):
    list_display = ["name", "property", "vehicles", "retired_at"]
    list_filter = ["property"]
    list_select_related = ["property"]


@admin.register(DrivingDirections)
class DrivingDirectionsAdmin(ReadOnlyAdmin):
    list_display = ["property", "vehicle_needed", "updated_at"]
    list_select_related = ["property"]
