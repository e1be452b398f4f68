"""Packages of observations for download over HTTP."""

from typing import Any

from django.core.files.storage import default_storage
from django.db.models import QuerySet
from django.http import FileResponse
from django.utils.text import slugify
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.problems import NotFound
from coop.api.rendering import FastJSONRenderer, ZipRenderer
from coop.api.views import ActorViewSet
from coop.jobs.models import JobRun, JobState
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from scrapes.cameras import export_jobs


class ExportInputSerializer(serializers.Serializer[Any]):
    """Which property, and how exactly its cameras' places are told."""

    property = VisibleField(properties_visible_to)
    precision_deg = serializers.FloatField(
        required=False,
        allow_null=True,
        default=None,
        min_value=0.0001,
        max_value=1,
        help_text="Step that positions are rounded to, in degrees; exact where left out",
    )


class ExportStartedSerializer(serializers.Serializer[dict[str, str]]):
    job = serializers.UUIDField(help_text="Poll /api/v1/jobs/{job}/")
    file = serializers.CharField(help_text="Where the package is found once the job is done")


class ObservationExportViewSet(ActorViewSet):
    """What a property's cameras saw as a Camtrap DP package, made by a job and kept some days."""

    tag = "cameras"
    needs = {"create": Action.OBSERVATION_READ, "retrieve": Action.OBSERVATION_READ}
    serializer_class = ExportInputSerializer
    pagination_class = None
    filter_backends = []

    def get_queryset(self) -> QuerySet[JobRun]:
        return export_jobs.exports_visible_to(actor=self.actor)

    @extend_schema(
        request=ExportInputSerializer,
        responses={202: ExportStartedSerializer},
        examples=[
            OpenApiExample(
                "Places to about a kilometre",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000001",
                    "precision_deg": 0.01,
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Make a package; the job's result has its counts, and lists what it cannot say."""
        fields = self.read(ExportInputSerializer)
        run = export_jobs.queue_export(
            actor=self.actor,
            land=fields["property"],
            precision_deg=fields["precision_deg"],
            now=self.now,
        )
        return Response(
            {"job": run.id, "file": f"/api/v1/observation-exports/{run.id}/"},
            status=202,
            headers={"Location": f"/api/v1/jobs/{run.id}/"},
        )

    @extend_schema(
        responses={
            (200, "application/zip"): OpenApiResponse(
                OpenApiTypes.BINARY, description="The package; its name is that of the property"
            )
        }
    )
    def retrieve(self, request: Request, pk: str) -> FileResponse:
        """The package that a job made (by the job's id); 404 while there is none, or no longer."""
        run = self.find(self.get_queryset(), pk)
        name = str(run.parameters["file"])
        if run.state != JobState.DONE or not default_storage.exists(name):
            raise NotFound(f"There is no package: its job is {run.state}, or it was removed.")
        land = Property.objects.get(id=str(run.property_id))
        return FileResponse(
            default_storage.open(name),
            as_attachment=True,
            filename=f"{slugify(land.name) or 'property'}-camtrap-dp.zip",
            content_type="application/zip",
        )

    def get_renderers(self) -> list[Any]:
        if self.action == "retrieve":
            return [FastJSONRenderer(), ZipRenderer()]
        return super().get_renderers()
