"""Harvest by year against the plan, over HTTP."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.asking import read_query
from coop.api.fields import VisibleField
from coop.api.views import ActorViewSet
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.land.year_fields import SeasonYearField
from scheduling.sits.harvest_figures import HarvestYear, PlanLine, harvest_years
from scheduling.sits.harvest_years import season_year_of

MOST_YEARS = 10
METHOD = (
    "A hunter-day is a person on a local date who checked in. Limits hold with 95 %: deer for a "
    "hunter-day by Poisson, the ratio by the share of does, means by Student's t. Sightings "
    "repeat the same deer and come in groups, so the ratio is rougher than its limits; it is "
    "what hunters saw and no count of the herd. Deer of unknown sex or age stand apart. The plan "
    "is the property's own and no statement of law."
)


class HarvestFiguresQuerySerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    last_year = SeasonYearField(required=False, help_text="The present one when left out")
    years = serializers.IntegerField(
        min_value=1, max_value=MOST_YEARS, default=3, help_text="How many, up to the last"
    )


class PlanLineSerializer(serializers.Serializer[Any]):
    harvest_class = serializers.CharField()
    sex = serializers.CharField(allow_blank=True, help_text="Empty: the class as a whole")
    planned = serializers.IntegerField(allow_null=True, help_text="Null: nothing was planned")
    taken = serializers.IntegerField()
    of_unknown_sex = serializers.IntegerField(help_text="May be of this sex; nobody told theirs")
    left = serializers.IntegerField(allow_null=True, help_text="If every unknown one was of it")
    over = serializers.IntegerField()


class PerDaySerializer(serializers.Serializer[Any]):
    deer = serializers.IntegerField()
    hunter_days = serializers.IntegerField()
    rate = serializers.FloatField(allow_null=True)
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)


class SexRatioSerializer(serializers.Serializer[Any]):
    bucks = serializers.IntegerField()
    does = serializers.IntegerField()
    unknown = serializers.IntegerField()
    does_per_buck = serializers.FloatField(allow_null=True)
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True, help_text="Null: no limit above")


class WeightOfAgeSerializer(serializers.Serializer[Any]):
    sex = serializers.CharField()
    age_class = serializers.CharField(help_text="fawn, 1.5, 2.5, 3.5, 4.5+ or unknown")
    n = serializers.IntegerField()
    mean_kg = serializers.FloatField(allow_null=True)
    low_kg = serializers.FloatField(allow_null=True)
    high_kg = serializers.FloatField(allow_null=True)
    too_few_to_tell = serializers.BooleanField(source="too_few")


class HarvestYearSerializer(serializers.Serializer[Any]):
    season_year = serializers.IntegerField()
    deer = serializers.IntegerField()
    plans = PlanLineSerializer(many=True)
    per_hunter_day = PerDaySerializer()
    seen = SexRatioSerializer(help_text="Deer in the reports of sits, by sex")
    weights = WeightOfAgeSerializer(many=True)


class HarvestFiguresSerializer(serializers.Serializer[Any]):
    property = serializers.UUIDField()
    years = HarvestYearSerializer(many=True, help_text="The latest first")
    method = serializers.CharField()


class HarvestFiguresViewSet(ActorViewSet):
    """Deer against the plan, for each hunter-day, by sex seen, and weights by age."""

    tag = "harvest"
    needs = {"list": Action.HARVEST_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = HarvestFiguresSerializer

    @extend_schema(parameters=[HarvestFiguresQuerySerializer], responses=HarvestFiguresSerializer)
    def list(self, request: Request) -> Response:
        """Harvest of the last seasons' years, each with its limits and what it rests on."""
        asked = read_query(self, HarvestFiguresQuerySerializer)
        land: Property = asked["property"]
        self.actor.require(self.needed, land.id)
        last = asked.get("last_year", season_year_of(self.now, land))
        years = [last - back for back in range(asked["years"])]
        shown = {
            "property": land.id,
            "years": [_shown(year) for year in harvest_years(land, years)],
            "method": METHOD,
        }
        return Response(HarvestFiguresSerializer(shown).data)


def _shown(year: HarvestYear) -> dict[str, Any]:
    return {
        "season_year": year.season_year,
        "deer": year.deer,
        "plans": [_line(line) for line in year.plans],
        "per_hunter_day": year.per_hunter_day,
        "seen": year.seen,
        "weights": year.weights,
    }


def _line(line: PlanLine) -> dict[str, Any]:
    counted = line.counted
    return {
        "harvest_class": line.harvest_class,
        "sex": line.sex,
        "planned": None if counted is None else counted.planned,
        "taken": line.taken,
        "of_unknown_sex": 0 if counted is None else counted.unsexed,
        "left": None if counted is None else counted.left,
        "over": 0 if counted is None else counted.over,
    }
