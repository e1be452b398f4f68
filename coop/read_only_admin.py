"""The admin of rows that only the software writes: to look at, not to edit."""

from typing import Any

from django.contrib import admin
from django.db.models import URLField
from django.http import HttpRequest


class ReadOnlyAdmin(admin.ModelAdmin):
    """Rows that only the software writes."""

    formfield_overrides = {URLField: {"assume_scheme": "https"}}

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class ReadOnlyInline(admin.TabularInline):
    """Rows below one of those, which only the software writes too."""

    extra = 0
    can_delete = False

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
