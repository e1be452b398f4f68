"""Inspections of stands, and which stands exclude each other, over HTTP."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.views import ActorViewSet
from properties.stands import filters, queries, services
from properties.stands.models import Inspection, StandExclusion


class InspectionReportSerializer(serializers.Serializer[Any]):
    inspected_on = serializers.DateField(help_text="The property's local date")
    inspected_by = serializers.CharField(
        max_length=200, default="", allow_blank=True, help_text="You, when left out"
    )
    passed = serializers.BooleanField()
    notes = serializers.CharField(max_length=5000, default="", allow_blank=True)


class InspectionSerializer(serializers.ModelSerializer[Inspection]):
    stand = VisibleField(queries.stands_visible_to, read_only=True)

    class Meta:
        model = Inspection
        fields = ["id", "stand", "inspected_on", "inspected_by", "passed", "notes", "created_at"]
        read_only_fields = fields


class StandExclusionSerializer(serializers.ModelSerializer[StandExclusion]):
    first = VisibleField(queries.stands_visible_to)
    second = VisibleField(queries.stands_visible_to)

    class Meta:
        model = StandExclusion
        fields = ["id", "first", "second", "reason", "created_at"]
        read_only_fields = ["id", "created_at"]
        # The service puts the pair in order before the database looks for a twin.
        validators: list[Any] = []


class InspectionViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Inspections kept; new ones are recorded on the stand."""

    tag = "stands"
    needs = {"list": Action.INSPECTION_READ, "retrieve": Action.INSPECTION_READ}
    serializer_class = InspectionSerializer
    filterset_class = filters.InspectionFilter

    def get_queryset(self) -> QuerySet[Inspection]:
        return queries.inspections_visible_to(actor=self.actor)


class StandExclusionViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Pairs of stands that are not used in the same session."""

    tag = "stands"
    needs = {
        "list": Action.EXCLUSION_READ,
        "retrieve": Action.EXCLUSION_READ,
        "create": Action.STAND_WRITE,
        "destroy": Action.STAND_WRITE,
    }
    serializer_class = StandExclusionSerializer
    filterset_class = filters.StandExclusionFilter

    def get_queryset(self) -> QuerySet[StandExclusion]:
        return queries.exclusions_visible_to(actor=self.actor).select_related("first", "second")

    @extend_schema(
        examples=[
            OpenApiExample(
                "Within each other's danger",
                value={
                    "first": "0193a1c2-0000-7000-8000-000000000005",
                    "second": "0193a1c2-0000-7000-8000-000000000006",
                    "reason": "Each lies in the other's line of fire",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Keep two stands from being used together."""
        fields = self.read(StandExclusionSerializer)
        exclusion = services.exclude(actor=self.actor, now=self.now, **fields)
        location = f"/api/v1/stand-exclusions/{exclusion.id}/"
        return self.answer(exclusion, status=201, location=location)

    @extend_schema(responses={204: None})
    def destroy(self, request: Request, pk: str) -> Response:
        """Let the two be used together again; the record keeps that they were not."""
        exclusion = self.find(self.get_queryset(), pk)
        services.lift_exclusion(actor=self.actor, exclusion=exclusion, now=self.now)
        return Response(status=204)
