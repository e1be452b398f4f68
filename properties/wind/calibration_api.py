"""Forecast against outcome over HTTP, for whoever sets the alert distance."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import mixins, serializers

from coop.access.roles import Action
from coop.api.filters import FilterSet
from coop.api.views import ActorViewSet
from properties.wind.models import FitCalibration
from properties.wind.queries import calibrations_visible_to

NOTICE = (
    "Deer that left unseen are in no report, so that observed shares bound the truth from "
    "below. Nothing here is applied: whoever sees reason to changes the setting."
)


class ObservedShareSerializer(serializers.Serializer[Any]):
    """Share of sits with exact binomial limits; null where there is no sit."""

    count = serializers.IntegerField()
    share = serializers.FloatField(allow_null=True)
    low = serializers.FloatField()
    high = serializers.FloatField()


class CalibrationBinSerializer(serializers.Serializer[Any]):
    """Sits whose forecast chance of an alarm lay between two figures, and what came."""

    low = serializers.FloatField()
    high = serializers.FloatField()
    sits = serializers.IntegerField()
    mean_forecast = serializers.FloatField(allow_null=True)
    winded = ObservedShareSerializer()
    alarmed = ObservedShareSerializer()


class SuggestedDistanceSerializer(serializers.Serializer[Any]):
    distance_m = serializers.FloatField()
    low_m = serializers.FloatField(allow_null=True)
    high_m = serializers.FloatField(allow_null=True)
    sits = serializers.IntegerField()
    winded = serializers.IntegerField()


class AlertDistanceSerializer(serializers.Serializer[Any]):
    """The setting in force and what reports suggest; null with the reason in ``why_not``."""

    present_m = serializers.FloatField()
    suggested = SuggestedDistanceSerializer(allow_null=True)
    why_not = serializers.CharField()


class CalibrationResultSerializer(serializers.Serializer[Any]):
    sits = serializers.IntegerField()
    without_forecast = serializers.IntegerField()
    expected = serializers.FloatField(help_text="Sits with an alarm, as forecast")
    confidence = serializers.FloatField()
    winded = ObservedShareSerializer()
    alarmed = ObservedShareSerializer()
    bins = CalibrationBinSerializer(many=True)
    alert_distance = AlertDistanceSerializer()


class FitCalibrationSerializer(serializers.ModelSerializer[FitCalibration]):
    notice = serializers.SerializerMethodField()
    result = serializers.SerializerMethodField()

    class Meta:
        model = FitCalibration
        fields = ["id", "property", "computed_at", "notice", "result"]
        read_only_fields = fields

    def get_notice(self, _row: FitCalibration) -> str:
        return NOTICE

    @extend_schema_field(CalibrationResultSerializer)
    def get_result(self, row: FitCalibration) -> dict[str, Any]:
        return row.result


class FitCalibrationFilter(FilterSet):
    class Meta:
        model = FitCalibration
        fields = ["property"]


class FitCalibrationViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """How often deer were alarmed where the model said they would be, with the counts.

    Learned with the stands' wind, whenever a sit is reported and every night.
    """

    tag = "wind"
    needs = {"list": Action.CALIBRATION_READ, "retrieve": Action.CALIBRATION_READ}
    serializer_class = FitCalibrationSerializer
    filterset_class = FitCalibrationFilter
    page_order = ("property_id",)

    def get_queryset(self) -> QuerySet[FitCalibration]:
        return calibrations_visible_to(actor=self.actor)
