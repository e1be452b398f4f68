"""Scrapes and their history over HTTP."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.views import DetailViewSet
from properties.land.queries import properties_visible_to
from properties.stands.api import PlaceField
from scrapes.sites import queries, services
from scrapes.sites.filters import ScrapeFilter
from scrapes.sites.models import Scrape, ScrapeEvent


class ScrapeSerializer(serializers.ModelSerializer[Scrape]):
    property = VisibleField(properties_visible_to)
    geometry = PlaceField()
    branch_azimuth_deg = serializers.FloatField(
        required=False,
        allow_null=True,
        min_value=0,
        max_value=360,
        help_text="Where the branch points, degrees true; 360 is stored as 0",
    )
    branch_height_m = serializers.FloatField(
        required=False, allow_null=True, min_value=0, max_value=5, help_text="Above ground"
    )

    class Meta:
        model = Scrape
        fields = [
            "id",
            "property",
            "name",
            "kind",
            "geometry",
            "branch_azimuth_deg",
            "branch_height_m",
            "made_on",
            "notes",
            "version",
            "retired_at",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "retired_at", "created_at", "updated_at"]

    def validate_branch_azimuth_deg(self, value: float | None) -> float | None:
        return None if value is None else value % 360


class ScrapeChangeSerializer(ScrapeSerializer):
    """A scrape stays on its property."""

    property = VisibleField(properties_visible_to, read_only=True)


class ScrapeEventSerializer(serializers.ModelSerializer[ScrapeEvent]):
    scrape = VisibleField(queries.scrapes_visible_to, read_only=True)

    class Meta:
        model = ScrapeEvent
        fields = ["id", "scrape", "happened_on", "what", "notes", "created_at"]
        read_only_fields = ["id", "created_at"]


class ScrapeViewSet(mixins.ListModelMixin, DetailViewSet):
    """Scrapes: licking branches over pawed ground, native or made."""

    tag = "scrapes"
    needs = {
        "list": Action.SCRAPE_READ,
        "retrieve": Action.SCRAPE_READ,
        "create": Action.SCRAPE_WRITE,
        "partial_update": Action.SCRAPE_WRITE,
        "retire": Action.SCRAPE_WRITE,
        "events": Action.SCRAPE_READ,
        "record_event": Action.SCRAPE_WRITE,
    }
    serializer_class = ScrapeSerializer
    filterset_class = ScrapeFilter
    search_fields = ["name", "notes"]

    def get_queryset(self) -> QuerySet[Scrape]:
        return queries.scrapes_visible_to(actor=self.actor).select_related("property")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A mock scrape",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000001",
                    "name": "Bench oak",
                    "kind": "mock",
                    "geometry": {"type": "Point", "coordinates": [-91.4955, 43.2042]},
                    "branch_azimuth_deg": 140,
                    "branch_height_m": 1.3,
                    "made_on": "2025-08-30",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Map a scrape; its place must lie on the property."""
        fields = self.read(ScrapeSerializer)
        scrape = services.create_scrape(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(scrape, status=201, location=f"/api/v1/scrapes/{scrape.id}/")

    @extend_schema(request=ScrapeChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a scrape (`If-Match` needed)."""
        scrape = self.find(self.get_queryset(), pk)
        changes = self.read(ScrapeChangeSerializer, partial=True)
        return self.answer_edit(
            scrape,
            lambda locked: services.change_scrape(
                actor=self.actor, scrape=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Give a scrape up; it is kept for the record, and its history says so."""
        scrape = self.find(self.get_queryset(), pk)
        return self.answer(services.retire_scrape(actor=self.actor, scrape=scrape, now=self.now))

    @extend_schema(responses=ScrapeEventSerializer(many=True))
    @action(detail=True, methods=["get"], pagination_class=None, filter_backends=[])
    def events(self, request: Request, pk: str) -> Response:
        """What was done at this scrape, latest first."""
        scrape = self.find(self.get_queryset(), pk)
        rows = scrape.events.order_by("-happened_on", "-id")
        return Response(self._shown(rows, many=True))

    @extend_schema(
        request=ScrapeEventSerializer,
        responses={201: ScrapeEventSerializer},
        examples=[
            OpenApiExample(
                "A new branch",
                value={"happened_on": "2025-10-04", "what": "branch turned", "notes": ""},
                request_only=True,
            )
        ],
    )
    @events.mapping.post
    def record_event(self, request: Request, pk: str) -> Response:
        """Keep what was done: built, repaired, branch turned."""
        scrape = self.find(self.get_queryset(), pk)
        fields = self.read(ScrapeEventSerializer)
        event = services.record_event(actor=self.actor, scrape=scrape, now=self.now, **fields)
        return Response(self._shown(event), status=201)

    def _shown(self, rows: Any, *, many: bool = False) -> Any:
        context = self.get_serializer_context()
        return ScrapeEventSerializer(rows, many=many, context=context).data
