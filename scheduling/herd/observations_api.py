"""What hunters saw for each hour of watching, over HTTP: a trend with its limits."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.asking import read_query
from coop.api.fields import VisibleField
from coop.api.views import ActorViewSet
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.land.year_fields import DayWithinYearsField
from properties.land.years import year_of
from scheduling.herd.observed import METHOD, ClassRates, rates_by_class
from scheduling.herd.queries import ReportedSit, herd_settings_of, reported_sits
from scheduling.sits.limits_queries import sit_settings_of

LONGEST_DAYS = 3_660
USUAL_DAYS = {"week": 365, "season_year": 5 * 365}
_MONDAY = date(2000, 1, 3)


class HerdQuerySerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    by = serializers.ChoiceField(choices=["week", "season_year"], default="season_year")
    first_on = DayWithinYearsField(
        required=False, help_text="A year back by week, five by season's year, when left out"
    )
    last_on = DayWithinYearsField(required=False, help_text="Today when left out")


class HourlyRateSerializer(serializers.Serializer[Any]):
    sits = serializers.IntegerField()
    hours = serializers.FloatField()
    seen = serializers.IntegerField()
    per_hour = serializers.FloatField(allow_null=True)
    low = serializers.FloatField(allow_null=True, help_text="Null: too few sits to tell")
    high = serializers.FloatField(allow_null=True)


class TrendSerializer(serializers.Serializer[Any]):
    """From one period to the next as a ratio: 1.1 is a tenth more."""

    verdict = serializers.CharField(help_text="rising, falling, no_trend or too_few_to_tell")
    ratio = serializers.FloatField(allow_null=True)
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)


class ClassRatesSerializer(serializers.Serializer[Any]):
    deer_class = serializers.CharField(help_text="all, buck, doe, fawn or unknown")
    rates = HourlyRateSerializer(many=True, help_text="One for each period, in their order")
    trend = TrendSerializer()


class HerdObservationsSerializer(serializers.Serializer[Any]):
    property = serializers.UUIDField()
    by = serializers.CharField()
    first_on = serializers.DateField()
    last_on = serializers.DateField()
    periods = serializers.ListField(
        child=serializers.CharField(), help_text="Monday of each week, or each season's year"
    )
    classes = ClassRatesSerializer(many=True)
    sits_without_hours = serializers.IntegerField(
        help_text="Reported sits left out because their hours are not known"
    )
    method = serializers.CharField()


class HerdObservationsViewSet(ActorViewSet):
    """Deer that hunters saw for each hour, by class: a trend and no number of deer."""

    tag = "herd"
    needs = {"list": Action.HERD_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = HerdObservationsSerializer

    @extend_schema(parameters=[HerdQuerySerializer], responses=HerdObservationsSerializer)
    def list(self, request: Request) -> Response:
        """Rates by week or season's year with 95 % limits, their trend, and the method."""
        asked = read_query(self, HerdQuerySerializer)
        land: Property = asked["property"]
        self.actor.require(self.needed, land.id)
        by = asked["by"]
        last_on = asked.get("last_on", local_date_on(land, self.now))
        first_on = asked.get("first_on", last_on - timedelta(days=USUAL_DAYS[by]))
        if not 0 <= (last_on - first_on).days <= LONGEST_DAYS:
            raise serializers.ValidationError(
                {"last_on": f"Must not lie before first_on, nor over {LONGEST_DAYS} days after."}
            )
        told = reported_sits(land, first_on, last_on)
        periods, classes = _rates(land, by, told.sits)
        shown = {
            "property": land.id,
            "by": by,
            "first_on": first_on,
            "last_on": last_on,
            "periods": periods,
            "classes": [_shown(one) for one in classes],
            "sits_without_hours": told.without_hours,
            "method": METHOD,
        }
        return Response(HerdObservationsSerializer(shown).data)


def _rates(
    land: Property, by: str, sits: Sequence[ReportedSit]
) -> tuple[list[str], tuple[ClassRates, ...]]:
    """The periods with sits, by name and in order, and the rates in them."""
    first_month = sit_settings_of(land).season_year_first_month

    def period_of(day: date) -> int:
        if by == "week":
            return (day - _MONDAY).days // 7
        return year_of(day, first_month=first_month)

    watched = [sit.in_period(period_of(sit.on)) for sit in sits]
    periods = sorted({each.period for each in watched})
    settings = herd_settings_of(land)
    classes = rates_by_class(
        watched,
        periods=periods,
        fewest_sits=settings.fewest_sits,
        fewest_periods=settings.fewest_periods,
    )
    if by == "week":
        return [str(_MONDAY + timedelta(weeks=period)) for period in periods], classes
    return [str(period) for period in periods], classes


def _shown(one: ClassRates) -> dict[str, Any]:
    return {
        "deer_class": "all" if one.seen_class is None else one.seen_class.value,
        "rates": one.rates,
        "trend": {
            "verdict": one.trend.verdict.value,
            "ratio": one.trend.ratio,
            "low": one.trend.low,
            "high": one.trend.high,
        },
    }
