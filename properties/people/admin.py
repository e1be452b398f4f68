"""People in the admin: who they are may be entered, roles granted and revoked by the services."""

from typing import Any

from django.contrib import admin, messages
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.forms import ModelForm
from django.http import HttpRequest
from django.utils import timezone

from coop.access.roles import Action, Role
from coop.admin import ReadOnlyAdmin
from properties.land.admin import AuditedAdmin, admin_actor
from properties.people import outfitter_services, role_services
from properties.people.models import (
    Member,
    Outfitter,
    Paper,
    Person,
    PropertyShare,
    RoleGrant,
)
from properties.people.youth_models import YouthRecord


@admin.register(Person)
class PersonAdmin(AuditedAdmin):
    written_as = Action.PERSON_WRITE
    fields = [
        "cooperative",
        "user",
        "name",
        "email",
        "phone",
        "vehicle",
        "units",
        "host",
        "emergency_contact_name",
        "emergency_contact_phone",
    ]
    list_display = ["name", "cooperative__name", "host__name", "retired_at"]
    list_filter = ["cooperative__name", ("host", admin.EmptyFieldListFilter)]
    list_select_related = ["cooperative", "host"]
    raw_id_fields = ["cooperative", "user", "host"]
    search_fields = ["name"]


@admin.register(Member)
class MemberAdmin(AuditedAdmin):
    written_as = Action.PERSON_WRITE
    fields = ["person", "joined_on", "entitlement_weight", "priority_points"]
    list_display = ["person__name", "joined_on", "entitlement_weight", "priority_points"]
    list_select_related = ["person"]
    raw_id_fields = ["person"]
    search_fields = ["person__name"]


@admin.register(Paper)
class PaperAdmin(AuditedAdmin):
    written_as = Action.PERSON_WRITE
    fields = ["person", "kind", "expires_on", "confirmed_on"]
    list_display = ["person__name", "kind", "expires_on", "confirmed_on"]
    list_filter = ["kind"]
    list_select_related = ["person"]
    raw_id_fields = ["person"]
    search_fields = ["person__name"]
    date_hierarchy = "expires_on"


class RoleGrantForm(ModelForm):
    class Meta:
        model = RoleGrant
        fields = ["person", "role", "property", "cooperative"]

    def clean(self) -> dict[str, Any]:
        fields = super().clean() or {}
        if fields.get("person") and fields.get("role"):
            role_services.check_grant(
                fields["person"],
                Role(fields["role"]),
                fields.get("property"),
                fields.get("cooperative"),
            )
        return fields


@admin.register(RoleGrant)
class RoleGrantAdmin(admin.ModelAdmin):
    """Roles are granted and revoked, never changed: the record shows who held what when."""

    form = RoleGrantForm
    list_display = [
        "person__name",
        "role",
        "property__name",
        "cooperative__name",
        "created_at",
        "revoked_at",
    ]
    list_filter = ["role", "property__name", ("revoked_at", admin.EmptyFieldListFilter)]
    list_select_related = ["person", "property", "cooperative"]
    raw_id_fields = ["person", "property", "cooperative"]
    search_fields = ["person__name"]
    actions = ["revoke"]

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_revoke_permission(self, request: HttpRequest) -> bool:
        return request.user.has_perm("properties.change_rolegrant")

    def save_model(
        self, request: HttpRequest, obj: RoleGrant, form: ModelForm, change: bool
    ) -> None:
        if change:
            raise PermissionDenied("a role is revoked and granted anew")
        granted = role_services.grant_role(
            actor=admin_actor(request),
            person=obj.person,
            role=Role(obj.role),
            land=obj.property,
            cooperative=obj.cooperative,
            now=timezone.now(),
        )
        obj.pk = granted.pk

    @admin.action(description="Revoke the chosen roles at once", permissions=["revoke"])
    def revoke(self, request: HttpRequest, rows: QuerySet[RoleGrant]) -> None:
        for grant in rows.filter(revoked_at=None):
            try:
                role_services.revoke_role(
                    actor=admin_actor(request), grant=grant, now=timezone.now()
                )
            except role_services.LastCoordinator as problem:
                self.message_user(request, problem.detail, messages.ERROR)


@admin.register(Outfitter)
class OutfitterAdmin(ReadOnlyAdmin):
    """Made over the API, which tells the application's secret once."""

    list_display = ["name", "cooperative__name", "contact_name", "contact_email", "retired_at"]
    list_filter = ["cooperative__name"]
    list_select_related = ["cooperative"]
    search_fields = ["name"]


@admin.register(PropertyShare)
class PropertyShareAdmin(ReadOnlyAdmin):
    list_display = ["outfitter__name", "property__name", "created_at", "revoked_at"]
    list_filter = ["property__name", ("revoked_at", admin.EmptyFieldListFilter)]
    list_select_related = ["outfitter", "property"]
    actions = ["revoke"]

    def has_revoke_permission(self, request: HttpRequest) -> bool:
        return request.user.has_perm("properties.change_propertyshare")

    @admin.action(description="End the chosen shares at once", permissions=["revoke"])
    def revoke(self, request: HttpRequest, rows: QuerySet[PropertyShare]) -> None:
        for share in rows.filter(revoked_at=None):
            outfitter_services.revoke_share(
                actor=admin_actor(request), share=share, now=timezone.now()
            )


@admin.register(YouthRecord)
class YouthRecordAdmin(ReadOnlyAdmin):
    list_display = ["person__name", "youth_until"]
    list_select_related = ["person"]
