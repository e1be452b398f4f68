"""The season's curve over HTTP: as set, as the cooperative's visits taught it, and the data."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import KnownParametersFilter
from coop.api.views import ActorViewSet
from coop.jobs.api import StartedJobSerializer, started
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.regulations.queries import pictures_seen_until
from scrapes.visits import season_curve_jobs as jobs
from scrapes.visits import season_curve_queries as queries
from scrapes.visits.models import SeasonFit


class PropertyOfSeasonSerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)


class SeasonDaySerializer(serializers.Serializer[Any]):
    """Expected use on one day, against the height of the first climb."""

    day = serializers.IntegerField(help_text="Days from the peak of breeding; negative before it")
    as_set = serializers.FloatField()
    fitted = serializers.FloatField(allow_null=True)
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)


class SeasonWeekSerializer(serializers.Serializer[Any]):
    """What was counted in seven days; `use` is null where no visited scrape was watched."""

    first_day = serializers.IntegerField()
    visits = serializers.IntegerField()
    camera_nights = serializers.FloatField()
    use = serializers.FloatField(allow_null=True)
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)


class FittedFigureSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    setting = serializers.FloatField()
    value = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()


class SeasonFitSerializer(serializers.ModelSerializer[SeasonFit]):
    figures = FittedFigureSerializer(many=True)
    weeks = SeasonWeekSerializer(many=True)

    class Meta:
        model = SeasonFit
        fields = [
            "id",
            "fitted_on",
            "last_on",
            "visits",
            "camera_nights",
            "scrapes",
            "dispersion",
            "confidence",
            "is_enough",
            "figures",
            "weeks",
        ]
        read_only_fields = fields


class SeasonCurveSerializer(serializers.Serializer[Any]):
    property = serializers.UUIDField()
    peak_of_breeding = serializers.CharField()
    in_force = serializers.ChoiceField(choices=["as_set", "fitted"])
    sentence = serializers.CharField()
    curve = SeasonDaySerializer(many=True)
    fit = SeasonFitSerializer(allow_null=True)


class SeasonCurveViewSet(ActorViewSet):
    """What use of scrapes to expect through the year."""

    tag = "scrapes"
    needs = {"list": Action.VISIT_READ, "fit": Action.JOB_START}
    serializer_class = SeasonCurveSerializer
    pagination_class = None
    filter_backends = [KnownParametersFilter]
    extra_parameters = ("property",)

    def get_queryset(self) -> QuerySet[SeasonFit]:
        return SeasonFit.objects.none()

    @extend_schema(parameters=[PropertyOfSeasonSerializer], responses=SeasonCurveSerializer)
    def list(self, request: Request) -> Response:
        """The curve of a property: as set, as fitted to the cooperative's visits with limits,
        and what was counted week by week. It says what is expected here, and no cause."""
        self.filter_queryset(self.get_queryset())
        land = self._land(request.query_params)
        seen = pictures_seen_until(actor=self.actor, land=land, now=self.now)
        return Response(self.get_serializer(queries.season_curve(land, now=seen)).data)

    @extend_schema(request=PropertyOfSeasonSerializer, responses={202: StartedJobSerializer})
    @action(detail=False, methods=["post"], filter_backends=[])
    def fit(self, request: Request) -> Response:
        """Fit the cooperative's curve now; answers with the job to poll."""
        land = self._land(request.data)
        run = jobs.queue_fit(
            cooperative_id=land.cooperative_id,
            property_id=land.id,
            now=self.now,
            requested_by_id=self.actor.account_id,
        )
        return started(run)

    def _land(self, asked: Any) -> Property:
        serializer = PropertyOfSeasonSerializer(data=asked, context=self.get_serializer_context())
        serializer.is_valid(raise_exception=True)
        land: Property = serializer.validated_data["property"]
        self.actor.require(self.needed, land.id)
        return land
