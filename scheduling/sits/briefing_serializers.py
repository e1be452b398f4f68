"""What is shown at the stand before and at check-in; nothing in it says that a sit is safe."""

from typing import Any

from rest_framework import serializers

from coop.api.fields import LocalInstantField
from scheduling.sits.serializers import SitSerializer


class CautionSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    sentence = serializers.CharField()


class NeighbourSerializer(serializers.Serializer[Any]):
    """Somebody in another stand of the same session: where not to shoot."""

    stand_name = serializers.CharField()
    first_name = serializers.CharField(help_text="Empty where you may not know it")
    bearing_deg = serializers.FloatField(allow_null=True, help_text="Degrees true, from you")
    distance_m = serializers.FloatField()
    in_shooting_arc = serializers.BooleanField()


class BriefedPlaceSerializer(serializers.Serializer[Any]):
    """One plan of harvest as this sit sees it; never a permission."""

    harvest_class = serializers.CharField()
    sex = serializers.CharField(allow_blank=True, help_text="Empty: the class as a whole")
    left = serializers.IntegerField()
    is_yours = serializers.BooleanField(
        allow_null=True, help_text="A place is kept for you; null: none is kept, none is taken"
    )
    sentence = serializers.CharField()


class BriefingSerializer(serializers.Serializer[Any]):
    """What is shown at the stand: cautions, ways, neighbours, light by the settings."""

    cautions = CautionSerializer(many=True)
    conditions = serializers.ListField(
        child=serializers.CharField(),
        help_text="Thunder, fire danger, water and ice that somebody told for this sit",
    )
    route_in = serializers.JSONField(allow_null=True, help_text="GeoJSON LineString")
    route_out = serializers.JSONField(
        allow_null=True, help_text="GeoJSON LineString; null: the way in is walked back"
    )
    arc_from_deg = serializers.FloatField()
    arc_to_deg = serializers.FloatField()
    neighbours = NeighbourSerializer(many=True)
    shooting_light_from = LocalInstantField(whole_seconds=True, allow_null=True)
    shooting_light_until = LocalInstantField(whole_seconds=True, allow_null=True)
    light_notice = serializers.CharField()
    day_rules = serializers.ListField(
        child=serializers.CharField(),
        help_text="What the property's regulations and lease say of the day, as entered here",
    )
    day_rules_notice = serializers.CharField()
    notes = serializers.ListField(
        child=serializers.CharField(), help_text="What else goes on near the stand right now"
    )
    harvest_places = BriefedPlaceSerializer(
        many=True, help_text="What the property's plan leaves to this sit; empty without a plan"
    )
    harvest_notice = serializers.CharField()


class CheckInAnswerSerializer(serializers.Serializer[Any]):
    sit = SitSerializer()
    briefing = BriefingSerializer(
        allow_null=True, help_text="Null for somebody whose role there has ended"
    )
