"""Camera units and their health over HTTP."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import TIME_ZONE, LocalInstantField, VisibleField
from coop.api.views import DetailViewSet
from properties.land.queries import properties_visible_to
from scrapes.cameras import queries, services
from scrapes.cameras.clock_queries import ClockRows
from scrapes.cameras.filters import CameraFilter
from scrapes.cameras.health import CameraState
from scrapes.cameras.health_queries import CameraReport, health_of
from scrapes.cameras.models import CameraUnit


class CameraSerializer(serializers.ModelSerializer[CameraUnit]):
    property = VisibleField(properties_visible_to)

    class Meta:
        model = CameraUnit
        fields = [
            "id",
            "property",
            "name",
            "serial_number",
            "transmits",
            "notes",
            "version",
            "retired_at",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "retired_at", "created_at", "updated_at"]


class CameraChangeSerializer(CameraSerializer):
    """A camera stays at its property."""

    property = VisibleField(properties_visible_to, read_only=True)


class FindingSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    sentence = serializers.CharField()
    hides_visits = serializers.BooleanField(
        help_text="From this on, missing deer prove nothing about the scrape"
    )
    facts = serializers.DictField()


class ClockRowsSerializer(serializers.Serializer[ClockRows]):
    """What speaks against the camera's clock, as imports told it."""

    outside = serializers.IntegerField(
        help_text="Pictures not taken in, since their time lies outside the deployment"
    )
    daylight = serializers.IntegerField(help_text="Pictures said to be taken by daylight")
    daylight_at_night = serializers.IntegerField(help_text="Of these with a time at night")


class CameraHealthSerializer(serializers.Serializer[CameraReport]):
    """Is the camera at fault? With every finding and its figures."""

    camera = serializers.UUIDField(source="health.camera")
    deployment = serializers.UUIDField(source="deployment.id", allow_null=True, default=None)
    scrape = serializers.UUIDField(source="deployment.scrape_id", allow_null=True, default=None)
    state = serializers.ChoiceField(
        choices=[(state.value, state.value) for state in CameraState], source="health.state"
    )
    hides_visits = serializers.BooleanField(source="health.hides_visits")
    pictures = serializers.IntegerField(help_text="Observations of every kind in this deployment")
    clock = ClockRowsSerializer()
    known_up_to = LocalInstantField(
        allow_null=True, help_text="The last card pulled, report or picture; nothing is known since"
    )
    battery_empty_at = LocalInstantField(
        allow_null=True, help_text="By the trend of its readings; null where no fall can be seen"
    )
    outage = serializers.UUIDField(source="outage.id", allow_null=True, default=None)
    findings = FindingSerializer(many=True, source="health.findings")


class CameraViewSet(mixins.ListModelMixin, DetailViewSet):
    """Camera units in a property's stock; where they hang is told by deployments."""

    tag = "cameras"
    needs = {
        "list": Action.CAMERA_READ,
        "retrieve": Action.CAMERA_READ,
        "create": Action.CAMERA_WRITE,
        "partial_update": Action.CAMERA_WRITE,
        "retire": Action.CAMERA_WRITE,
        "health": Action.CAMERA_READ,
    }
    serializer_class = CameraSerializer
    filterset_class = CameraFilter
    search_fields = ["name", "serial_number", "notes"]

    def get_queryset(self) -> QuerySet[CameraUnit]:
        return queries.cameras_visible_to(actor=self.actor).select_related("property")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A sending camera",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000001",
                    "name": "Camera 7",
                    "serial_number": "A-1007",
                    "transmits": True,
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Add a camera to a property's stock."""
        fields = self.read(CameraSerializer)
        camera = services.create_camera(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(camera, status=201, location=f"/api/v1/cameras/{camera.id}/")

    @extend_schema(request=CameraChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change what is known of a camera (`If-Match` needed)."""
        camera = self.find(self.get_queryset(), pk)
        changes = self.read(CameraChangeSerializer, partial=True)
        return self.answer_edit(
            camera,
            lambda locked: services.change_camera(
                actor=self.actor, camera=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Take a camera out of stock; refused while it still hangs somewhere."""
        camera = self.find(self.get_queryset(), pk)
        return self.answer(services.retire_camera(actor=self.actor, camera=camera, now=self.now))

    @extend_schema(responses=CameraHealthSerializer)
    @action(detail=True)
    def health(self, request: Request, pk: str) -> Response:
        """Judge the camera in its latest deployment by what is known now."""
        camera = self.find(self.get_queryset().select_related("property__cooperative"), pk)
        found = health_of(camera=camera, now=self.now)
        context = {TIME_ZONE: camera.property.time_zone}
        return Response(CameraHealthSerializer(found, context=context).data)
