"""What a hunter reports of a sit: wind as felt, deer seen and alarmed, deer taken."""

from typing import Any

from rest_framework import serializers

from coop.api.fields import LocalInstantField
from scheduling.sits.harvest_serializers import ReportedHarvestSerializer
from scheduling.sits.models import AgeClass, AlarmSense, DeerAlarm, DeerSex, Sighting, SitReport


class WindQuarterSerializer(serializers.Serializer[Any]):
    quarter = serializers.IntegerField(min_value=1, max_value=4)
    from_deg = serializers.FloatField(min_value=0, max_value=360)
    speed_mps = serializers.FloatField(min_value=0, max_value=60)


class SightingSerializer(serializers.ModelSerializer[Sighting]):
    sex = serializers.ChoiceField(choices=DeerSex.choices, default=DeerSex.UNKNOWN)
    age_class = serializers.ChoiceField(choices=AgeClass.choices, default=AgeClass.UNKNOWN)
    count = serializers.IntegerField(min_value=1, max_value=200)
    distance_m = serializers.FloatField(
        min_value=0, max_value=5_000, required=False, allow_null=True
    )

    class Meta:
        model = Sighting
        fields = ["sex", "age_class", "count", "distance_m"]


class DeerAlarmSerializer(serializers.ModelSerializer[DeerAlarm]):
    happened_at = LocalInstantField(place="report__sit__property", required=False, allow_null=True)
    sense = serializers.ChoiceField(choices=AlarmSense.choices, default=AlarmSense.UNKNOWN)
    count = serializers.IntegerField(min_value=1, max_value=200)
    distance_m = serializers.FloatField(
        min_value=0, max_value=5_000, required=False, allow_null=True
    )
    bearing_deg = serializers.FloatField(
        min_value=0, max_value=360, required=False, allow_null=True
    )

    class Meta:
        model = DeerAlarm
        fields = ["sense", "count", "happened_at", "distance_m", "bearing_deg", "where"]


class SitReportSerializer(serializers.ModelSerializer[SitReport]):
    wind_felt_quarters = WindQuarterSerializer(many=True, required=False)
    wind_felt_from_deg = serializers.FloatField(
        min_value=0, max_value=360, required=False, allow_null=True
    )
    wind_felt_speed_mps = serializers.FloatField(
        min_value=0, max_value=60, required=False, allow_null=True
    )
    shots = serializers.IntegerField(min_value=0, max_value=100, required=False)
    sightings = SightingSerializer(many=True, required=False)
    alarms = DeerAlarmSerializer(many=True, required=False)

    class Meta:
        model = SitReport
        fields = [
            "id",
            "sit",
            "reported_at",
            "wind_felt_quarters",
            "wind_felt_from_deg",
            "wind_felt_speed_mps",
            "deer_alarmed",
            "shots",
            "stand_condition",
            "stand_unsafe",
            "incident",
            "notes",
            "sightings",
            "alarms",
            "version",
        ]
        read_only_fields = ["id", "sit", "reported_at", "deer_alarmed", "version"]


class SitReportInputSerializer(SitReportSerializer):
    """A report with the deer taken in the sit, each counted against the property's plan."""

    harvests = ReportedHarvestSerializer(many=True, required=False, write_only=True)

    class Meta(SitReportSerializer.Meta):
        fields = [*SitReportSerializer.Meta.fields, "harvests"]
