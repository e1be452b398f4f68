"""When deployed cameras did not work, and their signs of life, over HTTP."""

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import LocalInstantField, VisibleField, with_zones
from coop.api.views import ActorViewSet, DetailViewSet
from scrapes.cameras import queries, services
from scrapes.cameras.filters import CameraStatusFilter, OutageFilter
from scrapes.cameras.models import CameraStatus, Outage


class OutageSerializer(serializers.ModelSerializer[Outage]):
    deployment = VisibleField(queries.deployments_visible_to)
    starts_at = LocalInstantField(place="deployment__camera__property")
    ends_at = LocalInstantField(
        place="deployment__camera__property",
        required=False,
        allow_null=True,
        help_text="null: it still does not work",
    )

    class Meta:
        model = Outage
        fields = [
            "id",
            "deployment",
            "kind",
            "starts_at",
            "ends_at",
            "estimated",
            "notes",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "created_at", "updated_at"]


class OutageChangeSerializer(OutageSerializer):
    """An outage stays with its deployment."""

    deployment = VisibleField(queries.deployments_visible_to, read_only=True)


class CameraStatusSerializer(serializers.ModelSerializer[CameraStatus]):
    camera = VisibleField(queries.cameras_visible_to)
    reported_at = LocalInstantField(
        place="camera__property", required=False, help_text="Default: now"
    )
    battery_pct = serializers.FloatField(
        required=False, allow_null=True, min_value=0, max_value=100
    )
    card_used_pct = serializers.FloatField(
        required=False, allow_null=True, min_value=0, max_value=100
    )

    class Meta:
        model = CameraStatus
        fields = [
            "id",
            "camera",
            "reported_at",
            "card_pulled",
            "battery_pct",
            "card_used_pct",
            "created_at",
        ]
        read_only_fields = ["id", "created_at"]
        # The framework's own check of the pair would ask for the instant; the model holds it.
        validators: list[object] = []


class OutageViewSet(mixins.ListModelMixin, DetailViewSet):
    """Times in which a deployed camera did not work: no sign of absent deer."""

    tag = "cameras"
    needs = {
        "list": Action.CAMERA_READ,
        "retrieve": Action.CAMERA_READ,
        "create": Action.CAMERA_WRITE,
        "partial_update": Action.CAMERA_WRITE,
    }
    serializer_class = OutageSerializer
    filterset_class = OutageFilter

    def get_queryset(self) -> QuerySet[Outage]:
        found = queries.outages_visible_to(actor=self.actor).select_related("deployment__scrape")
        return with_zones(found, "deployment__camera__property")

    @extend_schema(
        examples=[
            OpenApiExample(
                "Dead since about the first",
                value={
                    "deployment": "0193a1c2-0000-7000-8000-000000000013",
                    "kind": "dead",
                    "starts_at": "2025-11-01T01:00:00-05:00",
                    "estimated": True,
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """State an outage; without an end the camera still does not work."""
        fields = self.read(OutageSerializer)
        outage = services.record_outage(
            actor=self.actor, deployment=fields.pop("deployment"), fields=fields, now=self.now
        )
        return self.answer(outage, status=201, location=f"/api/v1/outages/{outage.id}/")

    @extend_schema(request=OutageChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Correct an outage, or say when it ended (`If-Match` needed)."""
        outage = self.find(self.get_queryset(), pk)
        changes = self.read(OutageChangeSerializer, partial=True)
        return self.answer_edit(
            outage,
            lambda locked: services.change_outage(
                actor=self.actor, outage=locked, changes=changes, now=self.now
            ),
        )


class CameraStatusViewSet(mixins.ListModelMixin, ActorViewSet):
    """Signs of life: heartbeats, and what was read when a card was pulled."""

    tag = "cameras"
    needs = {"list": Action.CAMERA_READ, "create": Action.CAMERA_WRITE}
    serializer_class = CameraStatusSerializer
    filterset_class = CameraStatusFilter
    page_order = ("-reported_at", "-id")

    def get_queryset(self) -> QuerySet[CameraStatus]:
        return with_zones(queries.statuses_visible_to(actor=self.actor), "camera__property")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A card pulled",
                value={
                    "camera": "0193a1c2-0000-7000-8000-000000000011",
                    "reported_at": "2025-11-01T11:00:00-05:00",
                    "card_pulled": True,
                    "battery_pct": 62,
                    "card_used_pct": 35,
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Keep a heartbeat, or what was read when the card was pulled."""
        fields = self.read(CameraStatusSerializer)
        status = services.record_status(
            actor=self.actor, camera=fields.pop("camera"), fields=fields, now=self.now
        )
        return self.answer(status, status=201)
