"""Exports of sits over HTTP: asked for, looked after, downloaded by whoever asked."""

from datetime import datetime
from typing import Any

from django.db.models import QuerySet
from django.http import FileResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.problems import NotFound
from coop.api.rendering import FastJSONRenderer, JSONLinesRenderer, TableRenderer
from coop.api.views import ActorViewSet
from coop.jobs.models import JobRun, JobState
from properties.land.queries import properties_visible_to
from scheduling.sits.asking import check_days
from scheduling.sync import export_jobs
from scheduling.sync.export_rows import ExportFormat

MOST_DAYS = 3 * 366


class SitExportInputSerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    first_on = serializers.DateField(help_text="The property's local date")
    last_on = serializers.DateField(help_text="Included; at most three years in all")
    format = serializers.ChoiceField(
        choices=[(one.value, one.value) for one in ExportFormat],
        default=ExportFormat.CSV.value,
        help_text="csv (RFC 4180), or jsonl: an object a line",
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        check_days(attrs["first_on"], attrs["last_on"], at_most=MOST_DAYS)
        return attrs


class SitExportSerializer(serializers.Serializer[JobRun]):
    """An export on its way; ``file`` is null until it is done and after it has expired."""

    id = serializers.UUIDField()
    property = serializers.UUIDField(source="property_id")
    first_on = serializers.DateField(source="parameters.first_on")
    last_on = serializers.DateField(source="parameters.last_on")
    format = serializers.CharField(source="parameters.format")
    state = serializers.ChoiceField(choices=JobState.choices)
    progress_pct = serializers.IntegerField()
    sits = serializers.SerializerMethodField()
    file = serializers.SerializerMethodField()
    expires_at = serializers.SerializerMethodField()

    def get_sits(self, run: JobRun) -> int | None:
        found: int | None = run.result.get("sits")
        return found

    def get_file(self, run: JobRun) -> str | None:
        opened = export_jobs.file_of(run, now=self.context["view"].now)
        if opened is None:
            return None
        opened.close()
        return f"/api/v1/sit-exports/{run.id}/file/"

    def get_expires_at(self, run: JobRun) -> datetime | None:
        return export_jobs.expiry_of(run)


class SitExportViewSet(ActorViewSet):
    """The sits that you may see on a property, as one file, made by a job and kept for a week."""

    tag = "sync"
    needs = {"create": Action.SIT_READ, "retrieve": Action.SIT_READ, "file": Action.SIT_READ}
    serializer_class = SitExportSerializer
    pagination_class = None
    filter_backends = []

    def get_queryset(self) -> QuerySet[JobRun]:
        return export_jobs.exports_visible_to(actor=self.actor)

    @extend_schema(
        request=SitExportInputSerializer,
        responses={202: SitExportSerializer},
        examples=[
            OpenApiExample(
                "A season",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000001",
                    "first_on": "2025-09-01",
                    "last_on": "2026-01-31",
                    "format": "csv",
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Ask for a file. What is in it is what you may see when it is made."""
        fields = self.read(SitExportInputSerializer)
        run = export_jobs.queue_export(
            actor=self.actor,
            land=fields["property"],
            first_on=fields["first_on"],
            last_on=fields["last_on"],
            form=ExportFormat(fields["format"]),
            now=self.now,
        )
        return self.answer(run, status=202, location=f"/api/v1/sit-exports/{run.id}/")

    def retrieve(self, request: Request, pk: str) -> Response:
        """How far it is; nobody but whoever asked for it sees it."""
        return self.answer(self.find(self.get_queryset(), pk))

    @extend_schema(
        responses={
            (200, media_type): OpenApiResponse(OpenApiTypes.BINARY, description="The file")
            for media_type in ("text/csv", "application/jsonl")
        }
    )
    @action(detail=True)
    def file(self, request: Request, pk: str) -> FileResponse:
        """The file; 404 until it is done, and when its week is over."""
        run = self.find(self.get_queryset(), pk)
        opened = export_jobs.file_of(run, now=self.now)
        if opened is None:
            raise NotFound(f"There is no file: its job is {run.state}, or it was removed.")
        form = ExportFormat(run.parameters["format"])
        return FileResponse(
            opened,
            as_attachment=True,
            filename=f"sits-{run.parameters['first_on']}-{run.parameters['last_on']}.{form.value}",
            content_type=f"{form.media_type}; charset=utf-8",
        )

    def get_renderers(self) -> list[Any]:
        if self.action == "file":
            return [FastJSONRenderer(), TableRenderer(), JSONLinesRenderer()]
        return super().get_renderers()
