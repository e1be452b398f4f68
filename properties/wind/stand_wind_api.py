"""The learned wind of stands over HTTP."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import FilterSet
from coop.api.views import ActorViewSet
from coop.jobs.api import StartedJobSerializer, started
from properties.land.queries import properties_visible_to
from properties.wind import jobs
from properties.wind.models import StandWind
from properties.wind.sectors import SECTOR_NAMES
from properties.wind.stand_wind_queries import stand_winds_visible_to


class StandWindSectorSerializer(serializers.Serializer[Any]):
    """One sector of the expected wind: how far the stand turns and spreads it."""

    sector = serializers.CharField()
    offset_deg = serializers.FloatField(help_text="Clockwise, added to the expected direction")
    spread_deg = serializers.FloatField(help_text="Added in square to the direction's error")
    reports = serializers.IntegerField()
    holds = serializers.BooleanField()


class StandWindSerializer(serializers.ModelSerializer[StandWind]):
    stand_name = serializers.CharField(source="stand.name")
    sectors = serializers.SerializerMethodField()
    summary = serializers.SerializerMethodField()

    class Meta:
        model = StandWind
        fields = [
            "id",
            "property",
            "stand",
            "stand_name",
            "learned_at",
            "reports",
            "found_spread_deg",
            "holds",
            "summary",
            "sectors",
        ]
        read_only_fields = fields

    @extend_schema_field(StandWindSectorSerializer(many=True))
    def get_sectors(self, row: StandWind) -> list[dict[str, Any]]:
        return [
            {
                "sector": name,
                "offset_deg": row.offset_deg[index],
                "spread_deg": row.spread_deg[index],
                "reports": row.counts[index],
                "holds": index not in row.unsteady_sectors,
            }
            for index, name in enumerate(SECTOR_NAMES)
        ]

    def get_summary(self, row: StandWind) -> str:
        sits = f"{row.reports} {'sit' if row.reports == 1 else 'sits'}"
        if row.found_spread_deg is None:
            return f"Too few reports to tell how steady the wind is here ({sits})."
        figure = f"it strays by {row.found_spread_deg:.0f}° of its own ({sits})"
        if row.holds:
            return f"As far as reports tell the wind holds here: {figure}."
        where = ", ".join(SECTOR_NAMES[index] for index in row.unsteady_sectors)
        return f"The wind does not hold here: {figure}{f', most from {where}' if where else ''}."


class LearnSerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)


class StandWindFilter(FilterSet):
    class Meta:
        model = StandWind
        fields = ["property", "stand", "holds"]


class StandWindViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """What each stand does to the wind, learned from the wind that members felt there."""

    tag = "wind"
    needs = {
        "list": Action.STAND_WIND_READ,
        "retrieve": Action.STAND_WIND_READ,
        "learn": Action.WIND_WRITE,
    }
    serializer_class = StandWindSerializer
    filterset_class = StandWindFilter
    page_order = ("stand_id",)

    def get_queryset(self) -> QuerySet[StandWind]:
        return stand_winds_visible_to(actor=self.actor).select_related("stand")

    @extend_schema(request=LearnSerializer, responses={202: StartedJobSerializer})
    @action(detail=False, methods=["post"])
    def learn(self, request: Request) -> Response:
        """Learn from all reports of a property anew; answers with the job to poll."""
        land = self.read(LearnSerializer)["property"]
        self.actor.require(self.needed, land.id)
        run = jobs.queue_learning_of(
            property_id=land.id, now=self.now, requested_by_id=self.actor.account_id
        )
        return started(run)
