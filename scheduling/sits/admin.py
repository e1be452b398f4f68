"""Sits in the admin: read there, changed through the API, where the rules and the record are."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from scheduling.sits.calendar_models import CalendarFeed, FormerHolding
from scheduling.sits.closure_models import ClosedSit, ClosureOutcome
from scheduling.sits.harvest_models import HarvestPlace, Tag
from scheduling.sits.models import (
    Client,
    DeerAlarm,
    Harvest,
    HarvestPlan,
    SeatClaim,
    Sighting,
    Sit,
    SitReport,
    SitRequest,
)
from scheduling.sits.objection_models import SitObjection
from scheduling.sits.overdue_models import OverdueNotice
from scheduling.sits.transfer_models import SitTransfer
from scheduling.sits.waiting_models import WaitingEntry


class ReadOnly:
    """Rows that services write under locks and rules; a form would go past them."""

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class SeatClaimInline(ReadOnly, admin.TabularInline):
    model = SeatClaim
    extra = 0


class SightingInline(ReadOnly, admin.TabularInline):
    model = Sighting
    extra = 0


class DeerAlarmInline(ReadOnly, admin.TabularInline):
    model = DeerAlarm
    extra = 0


@admin.register(Sit)
class SitAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["local_date", "span", "stand", "person", "state", "fit", "origin"]
    list_filter = ["state", "span", "origin", "property"]
    search_fields = ["person__name", "stand__name"]
    date_hierarchy = "local_date"
    list_select_related = ["stand", "person"]
    inlines = [SeatClaimInline]


@admin.register(SitRequest)
class SitRequestAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["first_on", "last_on", "person", "property", "wanted_sits", "withdrawn_at"]
    list_filter = ["property"]
    list_select_related = ["person", "property"]


@admin.register(SitReport)
class SitReportAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["reported_at", "sit", "deer_alarmed", "shots", "stand_unsafe"]
    list_filter = ["stand_unsafe"]
    list_select_related = ["sit"]
    inlines = [SightingInline, DeerAlarmInline]


@admin.register(Harvest)
class HarvestAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["taken_at", "property", "person", "harvest_class", "dressed_weight_kg"]
    list_filter = ["property", "harvest_class"]
    list_select_related = ["property", "person"]


@admin.register(HarvestPlan)
class HarvestPlanAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["property", "season_year", "harvest_class", "sex", "planned", "filled_at"]
    list_select_related = ["property"]


@admin.register(Tag)
class TagAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["kind", "person", "harvest_class", "valid_from", "valid_until", "retired_at"]
    list_filter = ["kind", "harvest_class"]
    list_select_related = ["person"]


@admin.register(HarvestPlace)
class HarvestPlaceAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["plan", "sit", "wanted", "held"]
    list_filter = ["held"]
    list_select_related = ["plan", "sit"]


@admin.register(Client)
class ClientAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["outfitter", "reference", "person"]
    list_select_related = ["outfitter", "person"]


@admin.register(OverdueNotice)
class OverdueNoticeAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["raised_at", "sit", "ladder_number", "rung"]
    list_filter = ["rung"]
    list_select_related = ["sit"]


@admin.register(CalendarFeed)
class CalendarFeedAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["person", "property", "updated_at", "revoked_at"]
    list_select_related = ["person", "property"]


@admin.register(FormerHolding)
class FormerHoldingAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["ended_at", "sit", "person", "property", "sequence"]
    list_select_related = ["sit", "person", "property"]


@admin.register(SitTransfer)
class SitTransferAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["offered_at", "sit", "giver", "receiver", "state", "ended_at"]
    list_filter = ["state", "property"]
    list_select_related = ["sit", "giver", "receiver"]


@admin.register(WaitingEntry)
class WaitingEntryAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["local_date", "span", "property", "stand", "person", "state", "asked_at"]
    list_filter = ["state", "property"]
    list_select_related = ["property", "stand", "person"]


@admin.register(ClosureOutcome)
class ClosureOutcomeAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["closure__property__name", "closure__first_on", "acted_at"]
    list_select_related = ["closure__property"]


@admin.register(ClosedSit)
class ClosedSitAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["sit__stand__name", "sit__local_date", "was_out", "met_at"]
    list_select_related = ["sit__stand"]


@admin.register(SitObjection)
class SitObjectionAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["sit__stand__name", "sit__local_date", "code", "found_at", "ended_at"]
    list_filter = ["code"]
    list_select_related = ["sit__stand"]
