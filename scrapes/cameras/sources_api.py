"""Kept mappings of tables over HTTP."""

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.views import DetailViewSet
from properties.land.queries import properties_visible_to
from scrapes.cameras import queries, source_services
from scrapes.cameras.filters import ObservationSourceFilter
from scrapes.cameras.imports_api import ObjectField
from scrapes.cameras.models import ObservationSource


class ObservationSourceSerializer(serializers.ModelSerializer[ObservationSource]):
    property = VisibleField(properties_visible_to)
    columns = ObjectField(
        help_text="instant and deployment must be named; also clock, pattern, zone, "
        "repeated_hour, observation_id, kind, species, count, sex, life_stage, individual, "
        "kinds, sexes, life_stages, delimiter, encoding"
    )

    class Meta:
        model = ObservationSource
        fields = ["id", "property", "name", "columns", "version", "created_at", "updated_at"]
        read_only_fields = ["id", "version", "created_at", "updated_at"]


class ObservationSourceChangeSerializer(ObservationSourceSerializer):
    """A source stays with its property."""

    property = VisibleField(properties_visible_to, read_only=True)


class ObservationSourceViewSet(mixins.ListModelMixin, DetailViewSet):
    """How somebody's tables are read; an import that names the source uses its mapping."""

    tag = "cameras"
    needs = {
        "list": Action.OBSERVATION_READ,
        "retrieve": Action.OBSERVATION_READ,
        "create": Action.OBSERVATION_WRITE,
        "partial_update": Action.OBSERVATION_WRITE,
    }
    serializer_class = ObservationSourceSerializer
    filterset_class = ObservationSourceFilter

    def get_queryset(self) -> QuerySet[ObservationSource]:
        return queries.sources_visible_to(actor=self.actor).select_related("property")

    @extend_schema(
        examples=[
            OpenApiExample(
                "Local times in two columns",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000001",
                    "name": "tagging sheet",
                    "columns": {
                        "instant": "Date",
                        "clock": "Time",
                        "pattern": "%m/%d/%Y %H:%M:%S",
                        "zone": "America/Chicago",
                        "deployment": "Camera",
                        "kind": "What",
                        "kinds": {"Deer": "animal", "Nothing": "blank"},
                    },
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Keep a mapping for the next tables of the same source."""
        fields = self.read(ObservationSourceSerializer)
        source = source_services.create_source(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(source, status=201, location=f"/api/v1/observation-sources/{source.id}/")

    @extend_schema(request=ObservationSourceChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a mapping (`If-Match` needed)."""
        source = self.find(self.get_queryset(), pk)
        changes = self.read(ObservationSourceChangeSerializer, partial=True)
        return self.answer_edit(
            source,
            lambda locked: source_services.change_source(
                actor=self.actor, source=locked, changes=changes, now=self.now
            ),
        )
