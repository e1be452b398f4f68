"""Observations in and out over HTTP: uploads become jobs, imports keep their reconciliation."""

from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.http import StreamingHttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import (
    OpenApiExample,
    OpenApiParameter,
    extend_schema,
    extend_schema_field,
)
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import LocalInstantField, VisibleField, local_instant, with_zones
from coop.api.problems import InvalidInput
from coop.api.rendering import FastJSONRenderer, GeoJSONRenderer, TableRenderer
from coop.api.views import ActorViewSet
from coop.jobs.api import StartedJobSerializer, started
from properties.land.queries import properties_visible_to
from scrapes.cameras import jobs, queries
from scrapes.cameras.filters import ObservationFilter, ObservationImportFilter
from scrapes.cameras.flat_export import observations_csv, observations_geojson
from scrapes.cameras.import_services import ImportFormat
from scrapes.cameras.import_sources import stated_mapping
from scrapes.cameras.models import Observation, ObservationImport
from scrapes.cameras.observation_rows import ImportRefused


@extend_schema_field(OpenApiTypes.OBJECT)
class ObjectField(serializers.JSONField):
    """A JSON object; a form sends it as text."""

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        value = super().to_internal_value(data)
        if not isinstance(value, dict):
            raise serializers.ValidationError("Must be a JSON object.")
        return value


class ImportInputSerializer(serializers.Serializer[Any]):
    """A file of observations and how to read it."""

    property = VisibleField(properties_visible_to)
    file = serializers.FileField(
        max_length=200, help_text="A CSV (plain or gzipped), or a Camtrap DP package as zip"
    )
    format = serializers.ChoiceField(choices=[(kind.value, kind.value) for kind in ImportFormat])
    source = serializers.CharField(  # type: ignore[assignment]
        max_length=40, required=False, default=""
    )
    partial = serializers.BooleanField(  # type: ignore[assignment]
        required=False,
        default=False,
        help_text="Take the good rows although others cannot be taken; default: all or nothing. "
        "Where no row can be taken the file is refused either way",
    )
    create_missing = serializers.BooleanField(
        required=False,
        default=False,
        help_text="Hang cameras that only the package knows at the nearest scrape",
    )
    create_scrapes = serializers.BooleanField(
        required=False,
        default=False,
        help_text="Hang them at the scrape named like their location instead, and map it where "
        "there is none: for a package of another property",
    )
    zone = serializers.CharField(
        max_length=60, required=False, default="", help_text="IANA zone of times without offset"
    )
    columns = ObjectField(
        required=False,
        allow_null=True,
        default=None,
        help_text="What a CSV's columns mean; default: as kept for the source, or else our "
        "own names",
    )
    deployments = ObjectField(
        required=False,
        default=dict,
        help_text="Deployments of ours (public ids) for the file's names for them",
    )

    def validate_deployments(self, value: dict[str, Any]) -> dict[str, str]:
        try:
            return {name: str(UUID(str(one))) for name, one in value.items()}
        except ValueError:
            raise serializers.ValidationError("Each must be a public id (UUID).") from None


class SkippedRowSerializer(serializers.Serializer[Any]):
    table = serializers.CharField()
    line = serializers.IntegerField()
    code = serializers.CharField()
    reason = serializers.CharField()


class OutsideTimesSerializer(serializers.Serializer[Any]):
    rows = serializers.IntegerField()
    first_at = LocalInstantField()
    last_at = LocalInstantField()


class ObservationImportSerializer(serializers.ModelSerializer[ObservationImport]):
    """One import with its reconciliation: read = taken + set aside + held already + skipped."""

    class Meta:
        model = ObservationImport
        fields = [
            "id",
            "property",
            "source",
            "file_name",
            "imported_at",
            "rows_read",
            "rows_taken",
            "rows_set_aside",
            "rows_held",
            "skipped_by_code",
        ]
        read_only_fields = fields


class ObservationImportDetailSerializer(ObservationImportSerializer):
    skipped = SkippedRowSerializer(many=True, read_only=True)
    outside_times = serializers.SerializerMethodField(
        help_text="By deployment: pictures outside its time, and the first and last of them"
    )

    class Meta(ObservationImportSerializer.Meta):
        fields = [
            *ObservationImportSerializer.Meta.fields,
            "skipped",
            "outside_times",
            "daylight_told",
        ]
        read_only_fields = fields

    @extend_schema_field(serializers.DictField(child=OutsideTimesSerializer()))
    def get_outside_times(self, batch: ObservationImport) -> dict[str, Any]:
        """By the property's clock; stored they are in UTC."""
        zone = batch.property.time_zone
        return {
            deployment: {
                **told,
                **{
                    side: local_instant(datetime.fromisoformat(told[side]), zone)
                    for side in ("first_at", "last_at")
                },
            }
            for deployment, told in batch.outside_times.items()
        }


class ObservationSerializer(serializers.ModelSerializer[Observation]):
    scrape = serializers.UUIDField(source="deployment.scrape_id", read_only=True)
    camera = serializers.UUIDField(source="deployment.camera_id", read_only=True)
    observed_at = LocalInstantField(place="deployment__camera__property", read_only=True)
    ended_at = LocalInstantField(
        place="deployment__camera__property", read_only=True, allow_null=True
    )

    class Meta:
        model = Observation
        fields = [
            "deployment",
            "scrape",
            "camera",
            "observed_at",
            "ended_at",
            "kind",
            "species",
            "count",
            "sex",
            "life_stage",
            "individual",
            "event_level",
            "batch",
            "source_key",
        ]
        read_only_fields = fields


class ObservationImportViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Imports of observations and what came of each."""

    tag = "cameras"
    needs = {
        "list": Action.OBSERVATION_READ,
        "retrieve": Action.OBSERVATION_READ,
        "create": Action.OBSERVATION_WRITE,
    }
    serializer_class = ObservationImportSerializer
    filterset_class = ObservationImportFilter
    page_order = ("-imported_at", "-id")
    parser_classes = [MultiPartParser]

    def get_queryset(self) -> QuerySet[ObservationImport]:
        found = queries.imports_visible_to(actor=self.actor)
        return found.select_related("property") if self.action == "retrieve" else found

    @extend_schema(responses=ObservationImportDetailSerializer)
    def retrieve(self, request: Request, pk: str) -> Response:
        """One import with the lines that were not taken."""
        found = self.find(self.get_queryset(), pk)
        return Response(ObservationImportDetailSerializer(found).data)

    @extend_schema(
        request={"multipart/form-data": ImportInputSerializer},
        responses={202: StartedJobSerializer},
        examples=[
            OpenApiExample(
                "A camera's card as CSV",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000001",
                    "format": "csv",
                    "zone": "America/Chicago",
                    "columns": '{"instant": "Date", "clock": "Time", "deployment": "Camera"}',
                },
                request_only=True,
                media_type="multipart/form-data",
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Take a file in; the job's result says what became of every row."""
        fields = self.read(ImportInputSerializer)
        upload, land = fields["file"], fields["property"]
        self.actor.require(self.needed, land.id)
        _check_columns(fields)
        run = jobs.queue_import(
            actor=self.actor,
            land=land,
            upload=upload,
            request={
                "file_name": Path(upload.name).name,
                "format": fields["format"],
                "source": fields["source"],
                "columns": fields["columns"],
                "zone": fields["zone"] or None,
                "deployments": fields["deployments"],
                "strict": not fields["partial"],
                "create_missing": fields["create_missing"],
                "create_scrapes": fields["create_scrapes"],
            },
            now=self.now,
        )
        return started(run)


class ObservationViewSet(mixins.ListModelMixin, ActorViewSet):
    """What the cameras saw, latest first."""

    tag = "cameras"
    needs = {"list": Action.OBSERVATION_READ, "export": Action.OBSERVATION_READ}
    serializer_class = ObservationSerializer
    filterset_class = ObservationFilter
    page_order = ("-observed_at", "-id")

    @property
    def extra_parameters(self) -> tuple[str, ...]:
        return ("as",) if self.action == "export" else ()

    def get_queryset(self) -> QuerySet[Observation]:
        found = queries.observations_visible_to(actor=self.actor).select_related("deployment")
        return with_zones(found, "deployment__camera__property")

    @extend_schema(
        filters=True,
        parameters=[
            OpenApiParameter("as", str, enum=["csv", "geojson"], description="csv by default")
        ],
        responses={
            (200, "text/csv"): OpenApiTypes.STR,
            (200, "application/geo+json"): OpenApiTypes.OBJECT,
        },
    )
    @action(
        detail=False,
        pagination_class=None,
        renderer_classes=[FastJSONRenderer, TableRenderer, GeoJSONRenderer],
    )
    def export(self, request: Request) -> StreamingHttpResponse:
        """All that the filters leave, oldest first, in one stream: a table, or points on a map."""
        rows = self.filter_queryset(self.get_queryset())
        wanted = request.query_params.get("as", "csv")
        if wanted not in ("csv", "geojson"):
            raise serializers.ValidationError({"as": "Must be csv or geojson."})
        write = observations_csv if wanted == "csv" else observations_geojson
        actor = self.actor
        return StreamingHttpResponse(
            write(rows, shows_place=lambda land_id: actor.may(Action.CAMERA_READ, land_id)),
            content_type="text/csv; charset=utf-8" if wanted == "csv" else "application/geo+json",
            headers={"Content-Disposition": f'attachment; filename="observations.{wanted}"'},
        )


def _check_columns(fields: dict[str, Any]) -> None:
    """What is wrong with a mapping is said at once, not by the job."""
    if fields["format"] != ImportFormat.CSV or fields["columns"] is None:
        return
    try:
        stated_mapping(fields["columns"], zone=fields["zone"] or None)
    except ImportRefused as refused:
        raise InvalidInput(
            refused.message,
            errors=[{"pointer": "#/columns", "detail": refused.message, "code": refused.code}],
        ) from refused
