"""Land in the admin: to look at. Geometry is checked, and facts are told, by the API only."""

from typing import Any

from django.contrib import admin
from django.db.models import Model
from django.forms import ModelForm
from django.http import HttpRequest
from django.utils import timezone

from coop.access.actors import Actor, system_actor
from coop.access.models import User
from coop.access.roles import Action
from coop.admin import ReadOnlyAdmin
from coop.audit import writing
from properties.land.models import Closure, Cooperative, Feature, Property


def admin_actor(request: HttpRequest) -> Actor:
    """Whoever writes in the admin, by the name that the audit record keeps."""
    name = request.user.email if isinstance(request.user, User) else "unknown"
    return system_actor(f"admin {name}")


class AuditedAdmin(admin.ModelAdmin):
    """Rows that may be added and changed here, each write recorded; nothing is deleted."""

    written_as: Action

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def save_model(self, request: HttpRequest, obj: Any, form: ModelForm, change: bool) -> None:
        audited: dict[str, Any] = {
            "actor": admin_actor(request),
            "action": self.written_as,
            "now": timezone.now(),
            "property_id": getattr(obj, "property_id", None),
        }
        if not change:
            writing.create(obj, **audited)
            return
        stored: Model = self.model._default_manager.select_for_update().get(pk=obj.pk)
        changes = {name: form.cleaned_data[name] for name in form.changed_data}
        writing.change(stored, changes, **audited)


@admin.register(Cooperative)
class CooperativeAdmin(AuditedAdmin):
    written_as = Action.COOPERATIVE_WRITE
    fields = ["name", "settings"]
    readonly_fields = ["settings"]
    list_display = ["name", "created_at"]
    search_fields = ["name"]


@admin.register(Property)
class PropertyAdmin(ReadOnlyAdmin):
    list_display = ["name", "cooperative__name", "time_zone", "area_m2", "retired_at"]
    list_filter = ["cooperative__name", "time_zone", ("retired_at", admin.EmptyFieldListFilter)]
    list_select_related = ["cooperative"]
    search_fields = ["name"]


@admin.register(Feature)
class FeatureAdmin(ReadOnlyAdmin):
    list_display = ["name", "kind", "property__name", "retired_at"]
    list_filter = ["kind", "property__name", ("retired_at", admin.EmptyFieldListFilter)]
    list_select_related = ["property"]
    search_fields = ["name"]


@admin.register(Closure)
class ClosureAdmin(ReadOnlyAdmin):
    list_display = ["property__name", "first_on", "last_on", "purpose", "reason", "lifted_at"]
    list_filter = ["purpose", "property__name"]
    list_select_related = ["property"]
    date_hierarchy = "first_on"
