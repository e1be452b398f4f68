"""Where cameras hang, over HTTP."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import LocalInstantField, VisibleField
from coop.api.views import DetailViewSet
from properties.stands.api import PlaceField
from scrapes.cameras import deployment_services, queries
from scrapes.cameras.filters import DeploymentFilter
from scrapes.cameras.models import Deployment
from scrapes.sites.queries import scrapes_visible_to


class DeploymentSerializer(serializers.ModelSerializer[Deployment]):
    camera = VisibleField(queries.cameras_visible_to)
    scrape = VisibleField(scrapes_visible_to)
    starts_at = LocalInstantField(place="camera__property")
    ends_at = LocalInstantField(
        place="camera__property",
        required=False,
        allow_null=True,
        help_text="null: it still hangs there",
    )
    geometry = PlaceField(required=False, help_text="Default: the scrape's place")
    heading_deg = serializers.FloatField(
        required=False, allow_null=True, min_value=0, max_value=360, help_text="Degrees true"
    )
    height_m = serializers.FloatField(
        required=False, allow_null=True, min_value=0, max_value=30, help_text="Above ground"
    )

    class Meta:
        model = Deployment
        fields = [
            "id",
            "camera",
            "scrape",
            "code",
            "starts_at",
            "ends_at",
            "geometry",
            "heading_deg",
            "height_m",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "created_at", "updated_at"]


class DeploymentChangeSerializer(DeploymentSerializer):
    """A camera that hangs elsewhere is another deployment."""

    camera = VisibleField(queries.cameras_visible_to, read_only=True)
    scrape = VisibleField(scrapes_visible_to, read_only=True)


class TakeDownSerializer(serializers.Serializer[Any]):
    at = serializers.DateTimeField(required=False, help_text="Default: now")


class MoveSerializer(TakeDownSerializer):
    scrape = VisibleField(scrapes_visible_to)
    code = serializers.CharField(max_length=100, required=False)
    geometry = PlaceField(required=False, help_text="Default: the new scrape's place")
    heading_deg = serializers.FloatField(
        required=False, allow_null=True, min_value=0, max_value=360
    )
    height_m = serializers.FloatField(required=False, allow_null=True, min_value=0, max_value=30)


class DeploymentViewSet(mixins.ListModelMixin, DetailViewSet):
    """A camera hanging at a scrape. One camera never hangs in two places at a time."""

    tag = "cameras"
    needs = {
        "list": Action.CAMERA_READ,
        "retrieve": Action.CAMERA_READ,
        "create": Action.CAMERA_WRITE,
        "partial_update": Action.CAMERA_WRITE,
        "take_down": Action.CAMERA_WRITE,
        "move": Action.CAMERA_WRITE,
    }
    serializer_class = DeploymentSerializer
    filterset_class = DeploymentFilter
    search_fields = ["code", "camera__name", "scrape__name"]

    def get_queryset(self) -> QuerySet[Deployment]:
        return queries.deployments_visible_to(actor=self.actor).select_related(
            "camera__property", "scrape"
        )

    @extend_schema(
        examples=[
            OpenApiExample(
                "Hung on a tree beside the scrape",
                value={
                    "camera": "0193a1c2-0000-7000-8000-000000000011",
                    "scrape": "0193a1c2-0000-7000-8000-000000000012",
                    "code": "bench-oak-2025-1",
                    "starts_at": "2025-09-20T10:30:00-05:00",
                    "heading_deg": 20,
                    "height_m": 2.2,
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Hang a camera; 409 `deployments_overlap` while it hangs elsewhere."""
        fields = self.read(DeploymentSerializer)
        deployment = deployment_services.hang_camera(
            actor=self.actor,
            camera=fields.pop("camera"),
            scrape=fields.pop("scrape"),
            fields=fields,
            now=self.now,
        )
        return self._new(deployment)

    @extend_schema(request=DeploymentChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Correct a deployment's times, place or code (`If-Match` needed)."""
        deployment = self.find(self.get_queryset(), pk)
        changes = self.read(DeploymentChangeSerializer, partial=True)
        return self.answer_edit(
            deployment,
            lambda locked: deployment_services.change_deployment(
                actor=self.actor, deployment=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=TakeDownSerializer)
    @action(detail=True, methods=["post"], url_path="take-down")
    def take_down(self, request: Request, pk: str) -> Response:
        """Take the camera down."""
        deployment = self.find(self.get_queryset(), pk)
        fields = self.read(TakeDownSerializer)
        now = self.now
        ended = deployment_services.take_down(
            actor=self.actor, deployment=deployment, at=fields.get("at", now), now=now
        )
        return self.answer(ended)

    @extend_schema(request=MoveSerializer, responses={201: DeploymentSerializer})
    @action(detail=True, methods=["post"])
    def move(self, request: Request, pk: str) -> Response:
        """Take the camera down and hang it at another scrape in one step: both or neither."""
        deployment = self.find(self.get_queryset(), pk)
        fields = self.read(MoveSerializer)
        now = self.now
        moved = deployment_services.move_camera(
            actor=self.actor,
            deployment=deployment,
            scrape=fields.pop("scrape"),
            at=fields.pop("at", now),
            fields=fields,
            now=now,
        )
        return self._new(moved)

    def _new(self, deployment: Deployment) -> Response:
        return self.answer(deployment, status=201, location=f"/api/v1/deployments/{deployment.id}/")
