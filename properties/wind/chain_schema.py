"""The shape of a fit's chain of numbers, for the API's description."""

from typing import Any

from rest_framework import serializers

from coop.api.fields import LocalInstantField


class GivenHourSerializer(serializers.Serializer[Any]):
    """The hour as forecast, null where not known; wind at 10 m, the sun at half past."""

    wind_from_deg = serializers.FloatField(allow_null=True)
    speed_mps = serializers.FloatField(allow_null=True)
    gust_mps = serializers.FloatField(allow_null=True)
    cloud_fraction = serializers.FloatField(allow_null=True)
    rain_mm = serializers.FloatField(allow_null=True)
    sun_elevation_deg = serializers.FloatField(allow_null=True)
    sun_azimuth_deg = serializers.FloatField(allow_null=True)
    direction_error_deg = serializers.FloatField(allow_null=True)


class ChainHourSerializer(serializers.Serializer[Any]):
    """One hour: what was given, what the stand makes of it, and the hunt's fit in it alone."""

    hour = serializers.IntegerField()
    starts_at = LocalInstantField()
    steps = serializers.FloatField(help_text="Steps of ten minutes hunted")
    given = GivenHourSerializer()
    stand_offset_deg = serializers.FloatField()
    stand_spread_deg = serializers.FloatField()
    stability = serializers.CharField(allow_null=True)
    speed_mps = serializers.FloatField(help_text="At the seat, with slope air", allow_null=True)
    air_from_deg = serializers.FloatField(help_text="Null in calm air", allow_null=True)
    wander_deg = serializers.FloatField(allow_null=True)
    error_deg = serializers.FloatField(allow_null=True)
    fit = serializers.FloatField(allow_null=True)
    worst_place = serializers.FloatField(allow_null=True)


class ChainPartSerializer(serializers.Serializer[Any]):
    verdict = serializers.CharField()
    fit = serializers.FloatField(allow_null=True)
    worst_place = serializers.FloatField(allow_null=True)


class ChainPartsSerializer(serializers.Serializer[Any]):
    approach = ChainPartSerializer()
    hunt = ChainPartSerializer()
    exit = ChainPartSerializer()


class ChainReasonSerializer(serializers.Serializer[Any]):
    feature_id = serializers.CharField()
    feature = serializers.CharField()
    kind = serializers.CharField()
    part = serializers.CharField()
    hour = serializers.IntegerField()
    chance = serializers.FloatField()
    worst_place = serializers.FloatField()
    presence = serializers.FloatField()
    cause = serializers.CharField()


class ChanceSerializer(serializers.Serializer[Any]):
    presence = serializers.FloatField(help_text="Expected groups of deer")
    chance = serializers.FloatField(help_text="That a deer there is alarmed, over its places")
    worst_place = serializers.FloatField(help_text="The same at its worst place")
    cause = serializers.CharField()


class ChancesByPartSerializer(serializers.Serializer[Any]):
    approach = ChanceSerializer()
    hunt = ChanceSerializer()
    exit = ChanceSerializer()


class ChainFeatureSerializer(serializers.Serializer[Any]):
    feature_id = serializers.CharField()
    feature = serializers.CharField()
    kind = serializers.CharField()
    deer = serializers.CharField(help_text="Whether deer stay there or pass")
    share = serializers.FloatField()
    parts = ChancesByPartSerializer()
    hour_chances = serializers.ListField(child=serializers.FloatField())


class DrawSourceSerializer(serializers.Serializer[Any]):
    scent_from = serializers.CharField(help_text="Seat, or all of it on the ground")
    share = serializers.FloatField()
    hunt = serializers.ListField(child=serializers.FloatField())


class DrawsSerializer(serializers.Serializer[Any]):
    """Draws of the session's error: fit = Σ share · weight · e^−(approach + hunt + exit)."""

    turn_deg = serializers.ListField(child=serializers.FloatField())
    weight = serializers.ListField(child=serializers.FloatField())
    approach = serializers.ListField(child=serializers.FloatField())
    exit = serializers.ListField(child=serializers.FloatField())
    sources = DrawSourceSerializer(many=True)


class StandWindUsedSerializer(serializers.Serializer[Any]):
    """What the stand was taken to do to the wind, and the sits behind it."""

    offset_deg = serializers.ListField(child=serializers.FloatField())
    spread_deg = serializers.ListField(child=serializers.FloatField())
    reports = serializers.IntegerField()
    found_spread_deg = serializers.FloatField(allow_null=True)
    holds = serializers.BooleanField()


class JudgedBySerializer(serializers.Serializer[Any]):
    fit_floor = serializers.FloatField()
    worst_place_cap = serializers.FloatField()
    marginal_margin = serializers.FloatField()
    alert_distance_m = serializers.FloatField()
    gust_limit_mps = serializers.FloatField()


class FitChainSerializer(serializers.Serializer[Any]):
    """Everything between forecast and verdict. Places are named to whoever may see the map."""

    verdict = serializers.CharField()
    fit = serializers.FloatField(allow_null=True)
    worst_place = serializers.FloatField(allow_null=True)
    fit_at_most = serializers.FloatField()
    worst_place_at_least = serializers.FloatField()
    fit_range = serializers.ListField(child=serializers.FloatField(), allow_null=True)
    parts = ChainPartsSerializer()
    hours = ChainHourSerializer(many=True)
    reasons = ChainReasonSerializer(many=True, required=False)
    unknown = serializers.ListField(child=serializers.CharField())
    sector_per_mille = serializers.DictField(child=serializers.IntegerField())
    closed_by_gust = serializers.BooleanField()
    features = ChainFeatureSerializer(many=True, required=False)
    features_left_out = serializers.IntegerField()
    draws = DrawsSerializer()
    judged_by = JudgedBySerializer()
    stand_wind = StandWindUsedSerializer()
