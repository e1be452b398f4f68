"""Past seasons over HTTP: where each stand could be hunted, and for which wind there is none."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import FilterSet
from coop.api.problems import NotFound
from coop.api.rendering import FastJSONRenderer, PictureRenderer
from coop.api.views import ActorViewSet
from coop.jobs.api import StartedJobSerializer, started
from properties.land.queries import properties_visible_to
from properties.wind import jobs
from properties.wind.history_picture import stand_picture
from properties.wind.models import WindHistory
from properties.wind.queries import histories_visible_to


class SectorCoverSerializer(serializers.Serializer[Any]):
    """One sector: sessions with that wind, and what the property had for them."""

    sector = serializers.CharField()
    sessions = serializers.IntegerField()
    with_a_stand = serializers.IntegerField(help_text="Sessions with some huntable stand")
    best_stand = serializers.UUIDField(allow_null=True)
    best_share = serializers.FloatField(allow_null=True)
    is_gap = serializers.BooleanField(
        allow_null=True, help_text="No stand holds it; null where too few sessions tell"
    )


class HistoryCellSerializer(serializers.Serializer[Any]):
    sessions = serializers.IntegerField()
    huntable = serializers.IntegerField()
    mean_fit = serializers.FloatField(allow_null=True)


class HistoryRowSerializer(serializers.Serializer[Any]):
    """A sector, or calm; one cell for each speed class from light to strong."""

    sector = serializers.CharField()
    huntable_share = serializers.FloatField(allow_null=True)
    cells = HistoryCellSerializer(many=True)


class StandHistorySerializer(serializers.Serializer[Any]):
    stand = serializers.UUIDField()
    name = serializers.CharField()
    sessions = serializers.IntegerField()
    unknown_sessions = serializers.IntegerField()
    huntable_sessions = serializers.IntegerField()
    huntable_share = serializers.FloatField(allow_null=True)
    rows = HistoryRowSerializer(many=True)


class WindHistorySerializer(serializers.ModelSerializer[WindHistory]):
    """Sessions of the season, those nobody observed, and each sector's best stand."""

    sessions = serializers.IntegerField(source="result.sessions")
    observed_sessions = serializers.IntegerField(source="result.observed_sessions")
    unobserved_sessions = serializers.IntegerField(source="result.unobserved_sessions")
    gaps = serializers.ListField(child=serializers.CharField(), source="result.gaps")
    sectors = SectorCoverSerializer(many=True, source="result.sectors")

    class Meta:
        model = WindHistory
        fields = [
            "id",
            "property",
            "season_year",
            "first_on",
            "last_on",
            "computed_at",
            "sessions",
            "observed_sessions",
            "unobserved_sessions",
            "gaps",
            "sectors",
        ]
        read_only_fields = fields


class WindHistoryDetailSerializer(WindHistorySerializer):
    """With the table of every stand by sector and speed."""

    speed_edges_mps = serializers.ListField(
        child=serializers.FloatField(), source="result.speed_edges_mps"
    )
    stands = StandHistorySerializer(many=True, source="result.stands")

    class Meta(WindHistorySerializer.Meta):
        fields = [*WindHistorySerializer.Meta.fields, "speed_edges_mps", "stands"]
        read_only_fields = fields


class SumUpSerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    season_year = serializers.IntegerField(
        min_value=1950, max_value=2200, help_text="Year in which the season's year begins"
    )


class WindHistoryFilter(FilterSet):
    class Meta:
        model = WindHistory
        fields = ["property", "season_year"]


class WindHistoryViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """What past seasons' wind says of each stand: where to build the next one.

    A share huntable is the model's and the settings' view of the wind alone; it never says
    that a stand was safe or a sit lawful.
    """

    tag = "wind"
    needs = {
        "list": Action.FIT_READ,
        "retrieve": Action.FIT_READ,
        "picture": Action.FIT_READ,
        "sum_up": Action.WIND_WRITE,
    }
    serializer_class = WindHistorySerializer
    filterset_class = WindHistoryFilter
    page_order = ("-season_year", "property_id")

    def get_queryset(self) -> QuerySet[WindHistory]:
        return histories_visible_to(actor=self.actor)

    @extend_schema(responses=WindHistoryDetailSerializer)
    def retrieve(self, request: Request, pk: str) -> Response:
        """One season with the table of every stand."""
        return Response(WindHistoryDetailSerializer(self.find(self.get_queryset(), pk)).data)

    @extend_schema(
        parameters=[OpenApiParameter("stand", OpenApiTypes.UUID, required=True)],
        responses={(200, "image/svg+xml"): OpenApiTypes.STR},
    )
    @action(
        detail=True, pagination_class=None, renderer_classes=[PictureRenderer, FastJSONRenderer]
    )
    def picture(self, request: Request, pk: str) -> Response:
        """One stand's season as a polar picture, north up, with its words inside."""
        history = self.find(self.get_queryset(), pk)
        stand = _table_of(history, request.query_params.get("stand", ""))
        svg = stand_picture(
            name=stand["name"],
            season=f"season of {history.season_year}",
            rows=stand["rows"],
            speed_edges_mps=history.result["speed_edges_mps"],
        )
        return Response(
            svg,
            content_type="image/svg+xml; charset=utf-8",
            headers={
                "Cache-Control": "private, no-cache",
                "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'",
            },
        )

    @extend_schema(
        request=SumUpSerializer,
        responses={202: StartedJobSerializer},
        examples=[
            OpenApiExample(
                "Last season",
                value={"property": "0193a1c2-0000-7000-8000-000000000001", "season_year": 2024},
                request_only=True,
            )
        ],
    )
    @action(detail=False, methods=["post"], url_path="sum-up")
    def sum_up(self, request: Request) -> Response:
        """Judge every stand on a season's observed wind; answers with the job to poll."""
        fields = self.read(SumUpSerializer)
        land = fields["property"]
        self.actor.require(self.needed, land.id)
        run = jobs.queue_history_of(
            property_id=land.id,
            season_year=fields["season_year"],
            now=self.now,
            requested_by_id=self.actor.account_id,
        )
        return started(run)


def _table_of(history: WindHistory, stand_id: str) -> dict[str, Any]:
    try:
        wanted = str(UUID(stand_id))
    except ValueError:
        wanted = ""
    for stand in history.result["stands"]:
        if stand["stand"] == wanted:
            return dict(stand)
    raise NotFound("This season holds no table of such a stand.")
