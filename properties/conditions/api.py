"""Conditions over HTTP: entered and withdrawn by managers and landowners."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import LocalInstantField, VisibleField
from coop.api.filters import FilterSet, InstantFilter
from coop.api.views import DetailViewSet
from properties.conditions import queries, services
from properties.conditions.models import Condition, ConditionKind
from properties.land.queries import properties_visible_to


class ConditionSerializer(serializers.ModelSerializer[Condition]):
    """A condition; the figure is that of its kind, and ice has none."""

    property = VisibleField(properties_visible_to)
    starts_at = LocalInstantField(place="property")
    ends_at = LocalInstantField(
        place="property", required=False, allow_null=True, help_text="null: until further notice"
    )
    thunder_chance = serializers.FloatField(
        min_value=0,
        max_value=1,
        required=False,
        allow_null=True,
        help_text="Thunder: 0 to 1; 1 where a warning is in force",
    )
    fire_danger_level = serializers.IntegerField(
        min_value=1,
        max_value=5,
        required=False,
        allow_null=True,
        help_text="Fire danger: 1 (low) to 5 (extreme)",
    )
    water_level_m = serializers.FloatField(
        min_value=-50,
        max_value=100,
        required=False,
        allow_null=True,
        help_text="Water: gauge height, read or forecast",
    )

    class Meta:
        model = Condition
        fields = [
            "id",
            "property",
            "kind",
            "starts_at",
            "ends_at",
            "thunder_chance",
            "fire_danger_level",
            "water_level_m",
            "source",
            "entered_by",
            "withdrawn_at",
            "version",
            "created_at",
        ]
        read_only_fields = ["id", "entered_by", "withdrawn_at", "version", "created_at"]


class WithdrawSerializer(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=300, required=False, allow_blank=True, default="")


class ConditionFilter(FilterSet):
    kind = django_filters.MultipleChoiceFilter(choices=ConditionKind.choices)
    holds_at = InstantFilter(
        method="holding", help_text="in force, and not withdrawn, at this instant"
    )

    class Meta:
        model = Condition
        fields = ["property"]

    def holding(self, rows: QuerySet[Condition], _name: str, value: Any) -> QuerySet[Condition]:
        return rows.filter(
            Q(ends_at=None) | Q(ends_at__gt=value), starts_at__lte=value, withdrawn_at=None
        )


class ConditionViewSet(mixins.ListModelMixin, DetailViewSet):
    """Thunder, fire danger, water and ice, as somebody told them.

    The house rules read them. None of it is a warning service: look at the sky, and follow
    whoever is in charge there.
    """

    tag = "land"
    needs = {
        "list": Action.CONDITION_READ,
        "retrieve": Action.CONDITION_READ,
        "create": Action.CONDITION_WRITE,
        "withdraw": Action.CONDITION_WRITE,
    }
    serializer_class = ConditionSerializer
    filterset_class = ConditionFilter
    page_order = ("-starts_at", "-id")

    def get_queryset(self) -> QuerySet[Condition]:
        return queries.conditions_visible_to(actor=self.actor).select_related("property")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A warning this evening",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "kind": "thunder",
                    "starts_at": "2025-11-08T15:00:00-06:00",
                    "ends_at": "2025-11-08T21:00:00-06:00",
                    "thunder_chance": 1,
                    "source": "weather office, by radio",
                },
                request_only=True,
            ),
            OpenApiExample(
                "High water until further notice",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "kind": "water",
                    "starts_at": "2025-11-08T06:00:00-06:00",
                    "water_level_m": 4.2,
                    "source": "gauge at the bridge",
                },
                request_only=True,
            ),
        ]
    )
    def create(self, request: Request) -> Response:
        """Enter a condition; people with sits in its span are told, new bookings refused."""
        fields = self.read(ConditionSerializer)
        condition = services.enter_condition(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(condition, status=201, location=f"/api/v1/conditions/{condition.id}/")

    @extend_schema(request=WithdrawSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, pk: str) -> Response:
        """It no longer holds, or was entered in error; the people who were told hear of it."""
        condition = self.find(self.get_queryset(), pk)
        fields = self.read(WithdrawSerializer)
        return self.answer(
            services.withdraw_condition(
                actor=self.actor, condition=condition, now=self.now, **fields
            )
        )
