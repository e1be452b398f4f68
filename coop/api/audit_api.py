"""The audit record over HTTP, for coordinators; it lives here because the record's own room
stands left of the HTTP conventions."""

import re
from typing import Any

from django.db.models import QuerySet
from rest_framework import mixins, serializers

from coop.access.roles import Action
from coop.access.scoping import scoped
from coop.api.filters import FilterSet, InstantFilter
from coop.api.instants import as_of_record
from coop.api.views import ActorViewSet
from coop.audit.models import AuditEvent

# Kept with a blank where RFC 3339 has a T.
_KEPT_INSTANT = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:\.\d+)?[+-]\d\d:\d\d", re.ASCII)


def with_instants_told(kept: Any) -> Any:
    """What an event keeps of an object, its instants told as an answer tells those of a record."""
    if isinstance(kept, dict):
        return {name: with_instants_told(value) for name, value in kept.items()}
    if isinstance(kept, list):
        return [with_instants_told(value) for value in kept]
    if isinstance(kept, str) and _KEPT_INSTANT.fullmatch(kept):
        return as_of_record(kept)
    return kept


class AuditEventSerializer(serializers.ModelSerializer[AuditEvent]):
    class Meta:
        model = AuditEvent
        fields = [
            "id",
            "recorded_at",
            "actor_kind",
            "actor_name",
            "action",
            "object_kind",
            "object_id",
            "property_id",
            "reason",
            "before",
            "after",
            "request_id",
            "emptied_at",
        ]
        read_only_fields = fields
        extra_kwargs = {
            "emptied_at": {
                "help_text": "Since when name, reason, before or after are empty, because the "
                "data of somebody they told of was erased"
            }
        }

    def to_representation(self, event: AuditEvent) -> dict[str, Any]:
        told = super().to_representation(event)
        sides = [name for name in ("before", "after") if name in told]
        return {**told, **{name: with_instants_told(told[name]) for name in sides}}


class AuditEventFilter(FilterSet):
    since = InstantFilter(field_name="recorded_at", lookup_expr="gte")

    class Meta:
        model = AuditEvent
        fields = ["object_kind", "object_id", "action", "property_id", "actor_name"]


class AuditEventViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Who did what, why, and what it was before and after. It can only be added to."""

    tag = "audit"
    needs = {"list": Action.AUDIT_READ, "retrieve": Action.AUDIT_READ}
    serializer_class = AuditEventSerializer
    filterset_class = AuditEventFilter
    page_order = ("-recorded_at", "-id")

    def get_queryset(self) -> QuerySet[AuditEvent]:
        return scoped(
            AuditEvent.objects.all(),
            actor=self.actor,
            action=Action.AUDIT_READ,
            field="property_id",
        )
