"""Wind in the admin: what came in and what was computed, to look at."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from properties.wind.models import (
    FitCalibration,
    ForecastIssue,
    ObservedHour,
    SessionFit,
    StandWind,
    WindHistory,
)


@admin.register(ForecastIssue)
class ForecastIssueAdmin(ReadOnlyAdmin):
    list_display = ["property__name", "source", "issued_at", "first_hour_at", "last_hour_at"]
    list_filter = ["source", "property__name"]
    list_select_related = ["property"]
    date_hierarchy = "issued_at"


@admin.register(ObservedHour)
class ObservedHourAdmin(ReadOnlyAdmin):
    list_display = ["property__name", "source", "starts_at", "wind_from_deg", "speed_mps"]
    list_filter = ["source", "property__name"]
    list_select_related = ["property"]
    date_hierarchy = "starts_at"


@admin.register(SessionFit)
class SessionFitAdmin(ReadOnlyAdmin):
    list_display = ["stand__name", "local_date", "kind", "fit", "worst_place", "verdict"]
    list_filter = ["kind", "verdict", "property__name"]
    list_select_related = ["stand"]
    search_fields = ["stand__name"]
    date_hierarchy = "local_date"


@admin.register(StandWind)
class StandWindAdmin(ReadOnlyAdmin):
    list_display = ["stand__name", "reports", "found_spread_deg", "holds", "learned_at"]
    list_filter = ["holds", "property__name"]
    list_select_related = ["stand"]
    search_fields = ["stand__name"]


@admin.register(FitCalibration)
class FitCalibrationAdmin(ReadOnlyAdmin):
    list_display = ["property__name", "computed_at"]
    list_select_related = ["property"]


@admin.register(WindHistory)
class WindHistoryAdmin(ReadOnlyAdmin):
    list_display = ["property__name", "season_year", "first_on", "last_on", "computed_at"]
    list_filter = ["property__name"]
    list_select_related = ["property"]
