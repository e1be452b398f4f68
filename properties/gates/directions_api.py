"""Parking places and the way to drive, over HTTP."""

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import FilterSet
from coop.api.views import DetailViewSet
from properties.gates import queries, services
from properties.gates.models import DrivingDirections, ParkingPlace
from properties.land.queries import properties_visible_to

_KEPT = ["version", "created_at", "updated_at"]


class ParkingPlaceSerializer(serializers.ModelSerializer[ParkingPlace]):
    property = VisibleField(properties_visible_to)
    longitude = serializers.FloatField(min_value=-180, max_value=180)
    latitude = serializers.FloatField(min_value=-90, max_value=90)
    vehicles = serializers.IntegerField(
        min_value=1, max_value=200, required=False, allow_null=True, help_text="How many fit"
    )

    class Meta:
        model = ParkingPlace
        fields = [
            *("id", "property", "name", "longitude", "latitude", "vehicles", "notes"),
            *("retired_at", *_KEPT),
        ]
        read_only_fields = ["id", "retired_at", *_KEPT]


class ParkingPlaceChangeSerializer(ParkingPlaceSerializer):
    property = VisibleField(properties_visible_to, read_only=True)


class ParkingPlaceFilter(FilterSet):
    class Meta:
        model = ParkingPlace
        fields = ["property"]


class ParkingPlaceViewSet(mixins.ListModelMixin, DetailViewSet):
    """Where hunters leave their vehicles."""

    tag = "land"
    needs = {
        "list": Action.GATE_READ,
        "retrieve": Action.GATE_READ,
        "create": Action.GATE_WRITE,
        "partial_update": Action.GATE_WRITE,
        "retire": Action.GATE_WRITE,
    }
    serializer_class = ParkingPlaceSerializer
    filterset_class = ParkingPlaceFilter
    page_order = ("name", "id")

    def get_queryset(self) -> QuerySet[ParkingPlace]:
        return queries.parking_visible_to(actor=self.actor)

    @extend_schema(
        examples=[
            OpenApiExample(
                "A turnout",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "name": "Hay barn",
                    "longitude": -91.49,
                    "latitude": 43.2,
                    "vehicles": 4,
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Enter a parking place (managers)."""
        row = ParkingPlace(**self.read(ParkingPlaceSerializer))
        place = services.add(actor=self.actor, row=row, now=self.now)
        return self.answer(place, status=201, location=f"/api/v1/parking-places/{place.id}/")

    @extend_schema(request=ParkingPlaceChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a parking place (managers; `If-Match` needed)."""
        place = self.find(self.get_queryset(), pk)
        changes = self.read(ParkingPlaceChangeSerializer, partial=True)
        return self.answer_edit(
            place,
            lambda locked: services.change(
                actor=self.actor, row=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Nobody parks there any more (managers)."""
        place = self.find(self.get_queryset(), pk)
        return self.answer(services.retire(actor=self.actor, row=place, now=self.now))


class DrivingDirectionsSerializer(serializers.ModelSerializer[DrivingDirections]):
    """How to drive to a property; one for each."""

    property = VisibleField(properties_visible_to)

    class Meta:
        model = DrivingDirections
        fields = ["id", "property", "directions", "vehicle_rule", "vehicle_needed", *_KEPT]
        read_only_fields = ["id", *_KEPT]


class DrivingDirectionsChangeSerializer(DrivingDirectionsSerializer):
    property = VisibleField(properties_visible_to, read_only=True)


class DrivingDirectionsFilter(FilterSet):
    class Meta:
        model = DrivingDirections
        fields = ["property"]


class DrivingDirectionsViewSet(mixins.ListModelMixin, DetailViewSet):
    """The way to drive, and what is asked of vehicles."""

    tag = "land"
    needs = {
        "list": Action.GATE_READ,
        "retrieve": Action.GATE_READ,
        "create": Action.GATE_WRITE,
        "partial_update": Action.GATE_WRITE,
    }
    serializer_class = DrivingDirectionsSerializer
    filterset_class = DrivingDirectionsFilter

    def get_queryset(self) -> QuerySet[DrivingDirections]:
        return queries.directions_visible_to(actor=self.actor)

    @extend_schema(
        examples=[
            OpenApiExample(
                "By the county road",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "directions": "North on the county road, second lane left after the bridge.",
                    "vehicle_rule": "No vehicle beyond the hay barn.",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Say how to get to a property (managers); one for each."""
        row = DrivingDirections(**self.read(DrivingDirectionsSerializer))
        kept = services.add(actor=self.actor, row=row, now=self.now)
        return self.answer(kept, status=201, location=f"/api/v1/driving-directions/{kept.id}/")

    @extend_schema(request=DrivingDirectionsChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change the directions (managers; `If-Match` needed)."""
        kept = self.find(self.get_queryset(), pk)
        changes = self.read(DrivingDirectionsChangeSerializer, partial=True)
        return self.answer_edit(
            kept,
            lambda locked: services.change(
                actor=self.actor, row=locked, changes=changes, now=self.now
            ),
        )
