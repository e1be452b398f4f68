"""Stands over HTTP; an outfitter's application sees neither routes nor notes nor reasons."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.rows import Computed, RowListMixin, Rows
from coop.api.views import DetailViewSet, actor_of_view
from properties.land.queries import properties_visible_to
from properties.land.serializers import SettingsField
from properties.stands import filters, queries, services
from properties.stands.inspections_api import InspectionReportSerializer, InspectionSerializer
from properties.stands.models import Stand

POINT_SCHEMA = {
    "type": "object",
    "description": "GeoJSON Point (RFC 7946): longitude, latitude on WGS 84",
    "properties": {
        "type": {"type": "string", "enum": ["Point"]},
        "coordinates": {
            "type": "array",
            "items": {"type": "number"},
            "minItems": 2,
            "maxItems": 3,
        },
    },
    "required": ["type", "coordinates"],
}


def point(longitude: float, latitude: float) -> dict[str, Any]:
    return {"type": "Point", "coordinates": [longitude, latitude]}


@extend_schema_field(POINT_SCHEMA)
class PlaceField(serializers.Field[Any, Any, Any, Any]):
    """A stand's longitude and latitude as a GeoJSON Point; the service checks it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(source="*", **kwargs)

    def to_representation(self, value: Stand) -> dict[str, Any]:
        return point(value.longitude, value.latitude)

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        return {"geometry": data}


DETAILS = ("approach_route", "exit_route", "notes", "settings")


def as_shown(stand: dict[str, Any], actor: Actor) -> dict[str, Any]:
    """A stand's members without those that this actor may not see."""
    if queries.sees_details(actor=actor, property_id=UUID(str(stand["property"]))):
        return stand
    closed_reason = "" if stand["is_open"] else "closed"
    return stand | dict.fromkeys(DETAILS) | {"closed_reason": closed_reason}


class StandSerializer(serializers.ModelSerializer[Stand]):
    """A stand. Routes, notes, settings and the reason of a closing are null unless yours to see."""

    null_unless_shown = DETAILS
    property = VisibleField(properties_visible_to)
    geometry = PlaceField()
    approach_route = serializers.JSONField(
        required=False,
        allow_null=True,
        help_text="GeoJSON LineString in the order walked; ends at the stand",
    )
    exit_route = serializers.JSONField(
        required=False,
        allow_null=True,
        help_text="GeoJSON LineString from the stand; null: the approach is walked back",
    )
    settings = SettingsField(required=False)

    class Meta:
        model = Stand
        extra_kwargs = {
            "seat_height_m": {
                "help_text": "Above the ground; needed of every kind but a ground blind, and "
                "above 0 there"
            }
        }
        fields = [
            "id",
            "property",
            "name",
            "kind",
            "geometry",
            "seat_height_m",
            "arc_from_deg",
            "arc_to_deg",
            "shot_distance_m",
            "capacity",
            "cover",
            "slope_aspect_deg",
            "slope_deg",
            "approach_route",
            "exit_route",
            "flood_stage_m",
            "rest_days",
            "last_inspected_on",
            "is_open",
            "closed_reason",
            "notes",
            "settings",
            "version",
            "retired_at",
            "created_at",
            "updated_at",
        ]
        read_only_fields = [
            "id",
            "last_inspected_on",
            "is_open",
            "closed_reason",
            "version",
            "retired_at",
            "created_at",
            "updated_at",
        ]

    def to_representation(self, instance: Stand) -> dict[str, Any]:
        return as_shown(super().to_representation(instance), actor_of_view(dict(self.context)))


class StandChangeSerializer(StandSerializer):
    """A stand stays on its property."""

    property = VisibleField(properties_visible_to, read_only=True)


class ReasonSerializer(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=300)


STAND_ROWS = Rows(
    StandSerializer,
    computed={"geometry": Computed(point, ("longitude", "latitude"))},
    as_shown=as_shown,
)


class StandViewSet(RowListMixin, DetailViewSet):
    """Fixed places to hunt from: ladders, hang-ons, towers, ground blinds."""

    tag = "stands"
    needs = {
        "list": Action.STAND_READ,
        "retrieve": Action.STAND_READ,
        "create": Action.STAND_WRITE,
        "partial_update": Action.STAND_WRITE,
        "close": Action.STAND_WRITE,
        "reopen": Action.STAND_WRITE,
        "retire": Action.STAND_WRITE,
        "inspections": Action.STAND_WRITE,
    }
    serializer_class = StandSerializer
    rows = STAND_ROWS
    filterset_class = filters.StandFilter
    # Names only: notes are not shown to everybody who may search.
    search_fields = ["name"]

    def get_queryset(self) -> QuerySet[Stand]:
        return queries.stands_visible_to(actor=self.actor)

    @extend_schema(
        examples=[
            OpenApiExample(
                "A ladder stand",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "name": "Oak point",
                    "kind": "ladder",
                    "geometry": {"type": "Point", "coordinates": [-91.495, 43.205]},
                    "seat_height_m": 4.8,
                    "arc_from_deg": 300,
                    "arc_to_deg": 60,
                    "shot_distance_m": 27,
                    "approach_route": {
                        "type": "LineString",
                        "coordinates": [[-91.498, 43.203], [-91.495, 43.205]],
                    },
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Add a stand; it must lie on the property and its routes must lead to it."""
        fields = self.read(StandSerializer)
        stand = services.create_stand(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(stand, status=201, location=f"/api/v1/stands/{stand.id}/")

    @extend_schema(request=StandChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a stand (`If-Match` needed)."""
        stand = self.find(self.get_queryset(), pk)
        changes = self.read(StandChangeSerializer, partial=True)
        return self.answer_edit(
            stand,
            lambda locked: services.change_stand(
                actor=self.actor, stand=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=ReasonSerializer)
    @action(detail=True, methods=["post"])
    def close(self, request: Request, pk: str) -> Response:
        """Close a stand with a reason; its sits are cancelled and people told."""
        stand = self.find(self.get_queryset(), pk)
        fields = self.read(ReasonSerializer)
        return self.answer(
            services.close_stand(actor=self.actor, stand=stand, now=self.now, **fields)
        )

    @extend_schema(request=ReasonSerializer)
    @action(detail=True, methods=["post"], url_path="open")
    def reopen(self, request: Request, pk: str) -> Response:
        """Offer a stand again; refused while its last inspection is a failed one."""
        stand = self.find(self.get_queryset(), pk)
        fields = self.read(ReasonSerializer)
        return self.answer(
            services.open_stand(actor=self.actor, stand=stand, now=self.now, **fields)
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Take a stand out of use for good; it is kept for the record."""
        stand = self.find(self.get_queryset(), pk)
        return self.answer(services.retire_stand(actor=self.actor, stand=stand, now=self.now))

    @extend_schema(
        request=InspectionReportSerializer,
        responses={201: InspectionSerializer},
        examples=[
            OpenApiExample(
                "Passed",
                value={"inspected_on": "2025-08-15", "inspected_by": "Ada", "passed": True},
                request_only=True,
            )
        ],
    )
    @action(detail=True, methods=["post"])
    def inspections(self, request: Request, pk: str) -> Response:
        """Record an inspection; a failed one closes the stand."""
        stand = self.find(self.get_queryset(), pk)
        fields = self.read(InspectionReportSerializer)
        inspection = services.record_inspection(
            actor=self.actor, stand=stand, now=self.now, **fields
        )
        shown = InspectionSerializer(inspection, context=self.get_serializer_context())
        location = f"/api/v1/inspections/{inspection.id}/"
        return Response(shown.data, status=201, headers={"Location": location})
