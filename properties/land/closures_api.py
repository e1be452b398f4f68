"""Closures of ground over HTTP."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import FilterSet
from coop.api.views import ActorViewSet, actor_of_view
from properties.land import queries, services
from properties.land.api import SQUARE
from properties.land.models import Closure


class ClosureSerializer(serializers.ModelSerializer[Closure]):
    """Closed ground; the shape of a part is shown to whoever may know the map of the land.

    A part that was drawn is shown to its landowner too; one named by a mapped feature is not.
    """

    property = VisibleField(queries.properties_visible_to)
    feature = VisibleField(
        queries.features_visible_to,
        required=False,
        allow_null=True,
        help_text="The mapped feature that is closed, instead of a drawn part",
    )
    part = serializers.JSONField(
        required=False,
        allow_null=True,
        help_text="GeoJSON Polygon or MultiPolygon, WGS 84; null: the whole property, unless "
        "`is_part`",
    )
    is_part = serializers.SerializerMethodField(
        help_text="Whether a part of the property is closed and not all of it"
    )

    class Meta:
        model = Closure
        fields = [
            "id",
            "property",
            "first_on",
            "last_on",
            "purpose",
            "reason",
            "is_part",
            "part",
            "feature",
            "session_kind",
            "lifted_at",
            "created_at",
        ]
        read_only_fields = ["id", "lifted_at", "created_at"]
        extra_kwargs = {
            "session_kind": {"help_text": "Only these sessions of the days; empty: all day"}
        }

    def get_is_part(self, row: Closure) -> bool:
        return row.part is not None

    def to_representation(self, row: Closure) -> dict[str, Any]:
        shown = super().to_representation(row)
        actor = actor_of_view(self.context)
        if not actor.may(Action.FEATURE_READ, row.property_id):
            drawn = row.feature_id is None and actor.may(Action.CLOSURE_WRITE, row.property_id)
            shown |= {"feature": None, "part": shown["part"] if drawn else None}
        return shown


class ClosureFilter(FilterSet):
    on = django_filters.DateFilter(method="covering", help_text="closed on this local date")

    class Meta:
        model = Closure
        fields = ["property", "purpose"]

    def covering(self, rows: QuerySet[Closure], _name: str, value: Any) -> QuerySet[Closure]:
        return rows.filter(first_on__lte=value, last_on__gte=value, lifted_at=None)


class ClosureViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Days on which ground is closed; landowners and managers close and open.

    What followed from a closure is told at `closures/{id}/outcome/`.
    """

    tag = "land"
    needs = {
        "list": Action.CLOSURE_READ,
        "retrieve": Action.CLOSURE_READ,
        "create": Action.CLOSURE_WRITE,
        "lift": Action.CLOSURE_WRITE,
    }
    serializer_class = ClosureSerializer
    filterset_class = ClosureFilter

    def get_queryset(self) -> QuerySet[Closure]:
        return queries.closures_visible_to(actor=self.actor)

    @extend_schema(
        examples=[
            OpenApiExample(
                "Logging on a part, two days",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "first_on": "2025-11-10",
                    "last_on": "2025-11-11",
                    "purpose": "logging",
                    "reason": "Logging trucks on the east side",
                    "part": SQUARE,
                },
                request_only=True,
            ),
            OpenApiExample(
                "One evening, all of it",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "first_on": "2025-11-27",
                    "last_on": "2025-11-27",
                    "purpose": "family_day",
                    "reason": "The family walks",
                    "session_kind": "evening",
                },
                request_only=True,
            ),
        ]
    )
    def create(self, request: Request) -> Response:
        """Close a property or a part of it; sits there are cancelled and people told at once."""
        fields = self.read(ClosureSerializer)
        closure = services.close_property(
            actor=self.actor, land=fields.pop("property"), now=self.now, **fields
        )
        return self.answer(closure, status=201, location=f"/api/v1/closures/{closure.id}/")

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def lift(self, request: Request, pk: str) -> Response:
        """Open the property again before the last day."""
        closure = self.find(self.get_queryset(), pk)
        return self.answer(services.lift_closure(actor=self.actor, closure=closure, now=self.now))
