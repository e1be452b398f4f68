"""Exports over HTTP: asked for, looked after, downloaded by whoever asked."""

from datetime import datetime
from typing import Any, ClassVar

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
from scheduling.sits.asking import check_days
from scheduling.sync import export_jobs
from scheduling.sync.export_kinds import HARVESTS, SITS, ExportKind
from scheduling.sync.export_rows import EXPORT_FORMATS, ExportFormat

MOST_DAYS = 3 * 366
A_SEASON = OpenApiExample(
    "A season",
    value={
        "property": "0193a1c2-0000-7000-8000-000000000001",
        "first_on": "2025-09-01",
        "last_on": "2026-01-31",
        "format": "csv",
    },
    request_only=True,
)
A_FILE = {
    (200, media_type): OpenApiResponse(OpenApiTypes.BINARY, description="The file")
    for media_type in ("text/csv", "application/jsonl")
}


class ExportInputSerializer(serializers.Serializer[Any]):
    first_on = serializers.DateField(help_text="The property's local date")
    last_on = serializers.DateField(help_text="Included; at most three years in all")
    format = serializers.ChoiceField(
        choices=EXPORT_FORMATS,
        default=ExportFormat.CSV.value,
        help_text="csv (RFC 4180), or jsonl: an object a line",
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        check_days(attrs["first_on"], attrs["last_on"], at_most=MOST_DAYS)
        return attrs


class SitExportInputSerializer(ExportInputSerializer):
    property = VisibleField(SITS.lands_visible_to)


class HarvestExportInputSerializer(ExportInputSerializer):
    property = VisibleField(HARVESTS.lands_visible_to)


class ExportSerializer(serializers.Serializer[JobRun]):
    """An export on its way; ``file`` is null until it is done and after it has expired."""

    id = serializers.UUIDField()
    property = serializers.UUIDField(source="property_id")
    first_on = serializers.DateField(source="parameters.first_on")
    last_on = serializers.DateField(source="parameters.last_on")
    format = serializers.CharField(source="parameters.format")
    state = serializers.ChoiceField(choices=JobState.choices)
    progress_pct = serializers.IntegerField()
    file = serializers.SerializerMethodField()
    expires_at = serializers.SerializerMethodField()

    def get_file(self, run: JobRun) -> str | None:
        view: ExportViewSet = self.context["view"]
        opened = export_jobs.file_of(run, now=view.now)
        if opened is None:
            return None
        opened.close()
        return f"/api/v1/{view.kind.address}/{run.id}/file/"

    def get_expires_at(self, run: JobRun) -> datetime | None:
        return export_jobs.expiry_of(run)


class SitExportSerializer(ExportSerializer):
    sits = serializers.SerializerMethodField()

    def get_sits(self, run: JobRun) -> int | None:
        """How many are in the file; null until it is made."""
        found: int | None = run.result.get(SITS.things)
        return found


class HarvestExportSerializer(ExportSerializer):
    harvests = serializers.SerializerMethodField()

    def get_harvests(self, run: JobRun) -> int | None:
        """How many are in the file; null until it is made."""
        found: int | None = run.result.get(HARVESTS.things)
        return found


class ExportViewSet(ActorViewSet):
    """What every kind of export has in common."""

    tag = "sync"
    kind: ClassVar[ExportKind]
    pagination_class = None
    filter_backends = []

    def get_queryset(self) -> QuerySet[JobRun]:
        return export_jobs.exports_visible_to(actor=self.actor, kind=self.kind)

    def retrieve(self, request: Request, pk: str) -> Response:
        """How far it is; nobody but whoever asked for it sees it."""
        return self.answer(self.find(self.get_queryset(), pk))

    @extend_schema(responses=A_FILE)
    @action(detail=True)
    def file(self, request: Request, pk: str) -> FileResponse:
        """The file; 404 until it is done, and when its week is over."""
        run = self.find(self.get_queryset(), pk)
        opened = export_jobs.file_of(run, now=self.now)
        if opened is None:
            raise NotFound(f"There is no file: its job is {run.state}, or it was removed.")
        form = ExportFormat(run.parameters["format"])
        days = f"{run.parameters['first_on']}-{run.parameters['last_on']}"
        return FileResponse(
            opened,
            as_attachment=True,
            filename=f"{self.kind.things}-{days}.{form.value}",
            content_type=f"{form.media_type}; charset=utf-8",
        )

    def get_renderers(self) -> list[Any]:
        if self.action == "file":
            return [FastJSONRenderer(), TableRenderer(), JSONLinesRenderer()]
        return super().get_renderers()

    def ask(self, input_serializer: type[ExportInputSerializer]) -> Response:
        """Queue the export that the body asks for, and answer 202 with where to look after it."""
        fields = self.read(input_serializer)
        run = export_jobs.queue_export(
            actor=self.actor,
            kind=self.kind,
            land=fields["property"],
            first_on=fields["first_on"],
            last_on=fields["last_on"],
            form=ExportFormat(fields["format"]),
            now=self.now,
        )
        return self.answer(run, status=202, location=f"/api/v1/{self.kind.address}/{run.id}/")


class SitExportViewSet(ExportViewSet):
    """The sits that you may see on a property, as one file, made by a job and kept for a week."""

    kind = SITS
    needs = {"create": Action.SIT_READ, "retrieve": Action.SIT_READ, "file": Action.SIT_READ}
    serializer_class = SitExportSerializer

    @extend_schema(
        request=SitExportInputSerializer, responses={202: SitExportSerializer}, examples=[A_SEASON]
    )
    def create(self, request: Request) -> Response:
        """Ask for a file. What is in it is what you may see when it is made."""
        return self.ask(SitExportInputSerializer)


class HarvestExportViewSet(ExportViewSet):
    """The deer taken on a property as you may see them, as one file, kept for a week.

    Each row is that of the list: whose deer it was, its place and numbers only where the list
    shows them to you.
    """

    kind = HARVESTS
    needs = {
        "create": Action.HARVEST_READ,
        "retrieve": Action.HARVEST_READ,
        "file": Action.HARVEST_READ,
    }
    serializer_class = HarvestExportSerializer

    @extend_schema(
        request=HarvestExportInputSerializer,
        responses={202: HarvestExportSerializer},
        examples=[A_SEASON],
    )
    def create(self, request: Request) -> Response:
        """Ask for a file. What is in it is what you may see when it is made."""
        return self.ask(HarvestExportInputSerializer)
