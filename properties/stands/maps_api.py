"""Maps of a property in and out over HTTP, as GeoJSON or GPX."""

from typing import Any

import orjson
from django.utils.text import slugify
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.problems import InvalidInput
from coop.api.rendering import FastJSONRenderer, GeoJSONRenderer, GPXRenderer, ReadyRenderer
from coop.api.views import ActorViewSet
from properties.land.exchange import PlaceKind
from properties.land.geojson import feature_collection
from properties.land.gpx import write_gpx
from properties.land.limits import ImportLimits
from properties.land.positions import InvalidGeometry
from properties.land.queries import properties_visible_to
from properties.stands.map_export import CREATOR, exported_places
from properties.stands.map_import import MapImport, import_map

KINDS = [(kind.value, kind.value) for kind in PlaceKind if kind is not PlaceKind.BOUNDARY]


class MapFileSerializer(serializers.Serializer[Any]):
    file = serializers.FileField(help_text="GeoJSON (RFC 7946) or GPX 1.0 or 1.1")
    kind = serializers.ChoiceField(
        choices=KINDS, required=False, help_text="For places whose kind the file does not state"
    )
    dry_run = serializers.BooleanField(
        default=False, help_text="Judge everything and write nothing"
    )
    partial = serializers.BooleanField(  # type: ignore[assignment]  # taken as a field
        default=False, help_text="Take what is good although other places are not"
    )


class TakenPlaceSerializer(serializers.Serializer[Any]):
    pointer = serializers.CharField()
    kind = serializers.CharField()
    name = serializers.CharField()


class SkippedPlaceSerializer(serializers.Serializer[Any]):
    pointer = serializers.CharField(help_text="Where in the file")
    name = serializers.CharField()
    reason = serializers.CharField(source="detail")


class MapImportSerializer(serializers.Serializer[Any]):
    read = serializers.IntegerField()
    taken = serializers.SerializerMethodField()
    skipped = SkippedPlaceSerializer(many=True)
    places = TakenPlaceSerializer(source="taken", many=True)
    notes = serializers.ListField(child=serializers.CharField())
    written = serializers.BooleanField(help_text="False for a dry run")

    def get_taken(self, result: MapImport) -> int:
        return len(result.taken)


class MapViewSet(ActorViewSet):
    """A property's features and stands as a file for maps and handhelds."""

    tag = "land"
    needs = {"import_file": Action.STAND_WRITE, "export": Action.FEATURE_READ}
    serializer_class = MapImportSerializer
    filter_backends = []
    pagination_class = None

    @extend_schema(
        request={"multipart/form-data": MapFileSerializer},
        responses={
            200: OpenApiResponse(MapImportSerializer, description="A dry run"),
            201: MapImportSerializer,
        },
    )
    @action(detail=True, methods=["post"], url_path="import", parser_classes=[MultiPartParser])
    def import_file(self, request: Request, pk: str) -> Response:
        """Read a map onto the property; all or nothing, unless `partial`.

        A file is refused of which no place can be taken, and none is mapped already.
        """
        land = self.find(properties_visible_to(actor=self.actor), pk)
        self.actor.require(self.needed, land.id)
        fields = self.read(MapFileSerializer)
        kind = PlaceKind(fields["kind"]) if "kind" in fields else None
        try:
            result = import_map(
                actor=self.actor,
                land=land,
                content=_content(fields["file"]),
                default_kind=kind,
                dry_run=fields["dry_run"],
                partial=fields["partial"],
                now=self.now,
            )
        except InvalidGeometry as problem:
            raise InvalidInput(
                str(problem),
                errors=[{"pointer": problem.pointer, "detail": problem.detail, "code": "invalid"}],
            ) from problem
        if not (result.written or fields["dry_run"]):
            raise _held_back(result)
        return Response(MapImportSerializer(result).data, status=201 if result.written else 200)

    @extend_schema(
        parameters=[
            OpenApiParameter("as", str, enum=["geojson", "gpx"], description="geojson by default")
        ],
        responses={
            (200, "application/geo+json"): OpenApiTypes.OBJECT,
            (200, "application/gpx+xml"): OpenApiTypes.BINARY,
        },
    )
    @action(
        detail=True,
        pagination_class=None,
        renderer_classes=[FastJSONRenderer, GeoJSONRenderer, GPXRenderer],
    )
    def export(self, request: Request, pk: str) -> Response:
        """What is mapped, as a file; GPX knows no areas and writes them as lines."""
        land = self.find(properties_visible_to(actor=self.actor), pk)
        self.actor.require(self.needed, land.id)
        wanted = request.query_params.get("as", "geojson")
        places = exported_places(actor=self.actor, land=land)
        renderer: ReadyRenderer
        if wanted == "geojson":
            renderer, content = GeoJSONRenderer(), orjson.dumps(feature_collection(places))
        elif wanted == "gpx":
            renderer, content = GPXRenderer(), write_gpx(places, creator=CREATOR)
        else:
            raise serializers.ValidationError({"as": "Must be geojson or gpx."})
        request.accepted_renderer = renderer
        request.accepted_media_type = renderer.media_type
        name = f"{slugify(land.name) or 'property'}.{renderer.format}"
        headers = {"Content-Disposition": f'attachment; filename="{name}"'}
        return Response(content, content_type=renderer.media_type, headers=headers)


def _content(file: Any) -> bytes:
    limit = ImportLimits().max_bytes
    if file.size > limit:
        raise InvalidGeometry("", f"the file has {file.size} bytes; at most {limit} are read")
    return file.read()


def _held_back(result: MapImport) -> InvalidInput:
    """Nothing was written: every fault by its place in the file, with the whole count."""
    hint = ", or ask for a part" if len(result.faults) < result.read else ""
    problem = InvalidInput(
        f"Nothing was taken: {len(result.faults)} of {result.read} places cannot be; "
        f"correct them{hint}.",
        errors=[
            {
                "pointer": fault.pointer,
                "detail": f"“{fault.name}”: {fault.detail}",
                "code": "invalid",
            }
            for fault in result.faults
        ],
    )
    reconciliation = MapImportSerializer(result).data
    problem.members |= {"read": result.read, "taken": 0, "skipped": reconciliation["skipped"]}
    return problem
