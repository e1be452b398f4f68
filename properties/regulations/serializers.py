"""Regulations as they are sent and told, and what is in force on a day."""

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from coop.api.fields import VisibleField
from properties.land.queries import properties_visible_to
from properties.leases.uses import CameraUse
from properties.regulations import queries
from properties.regulations.kinds import OrangeWhen, RegulationKind
from properties.regulations.models import Regulation
from properties.regulations.words import regulation_words
from properties.sessions.api import SeasonSerializer
from properties.sessions.confirmation import NOTICE


class RegulationValueSerializer(serializers.Serializer[Any]):
    """What a value holds: of these the members of its kind, and no others.

    `weekly_closed_days`: weekdays. `orange`: when, what. `scents`: names. `feed`, `minerals`:
    permitted. `cameras`: cameras. `picture_delay`: hours. `disease_area`: area, sampling_first_on,
    sampling_last_on, sampling, carcass_transport. `shooting_light`: before_sunrise_min,
    after_sunset_min (negative: after sunrise, before sunset).
    """

    weekdays = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=7),
        required=False,
        help_text="ISO numbers, 1 Monday to 7 Sunday",
    )
    when = serializers.ChoiceField(
        choices=[(one.value, one.value) for one in OrangeWhen], required=False
    )
    what = serializers.CharField(required=False, allow_blank=True, max_length=500)
    names = serializers.ListField(
        child=serializers.CharField(max_length=60),
        required=False,
        help_text="The only scents permitted; an empty list permits none",
    )
    permitted = serializers.BooleanField(required=False)
    cameras = serializers.ChoiceField(
        choices=[(one.value, one.value) for one in CameraUse], required=False
    )
    hours = serializers.FloatField(required=False, min_value=0, max_value=8_760)
    area = serializers.CharField(required=False, max_length=500)
    sampling_first_on = serializers.DateField(required=False)
    sampling_last_on = serializers.DateField(required=False)
    sampling = serializers.CharField(required=False, allow_blank=True, max_length=500)
    carcass_transport = serializers.CharField(required=False, allow_blank=True, max_length=500)
    before_sunrise_min = serializers.FloatField(required=False, min_value=-120, max_value=60)
    after_sunset_min = serializers.FloatField(required=False, min_value=-120, max_value=60)

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        unknown = sorted(set(data) - set(self.fields)) if isinstance(data, dict) else []
        if unknown:
            raise serializers.ValidationError(
                {name: f"Unknown; known: {', '.join(self.fields)}." for name in unknown}
            )
        # Dates stay text, as they are stored.
        return dict(self.to_representation(super().to_internal_value(data)))

    def to_representation(self, value: Any) -> dict[str, Any]:
        return {
            name: one.isoformat() if hasattr(one, "isoformat") else one
            for name, one in value.items()
        }


class RegulationSerializer(serializers.ModelSerializer[Regulation]):
    property = VisibleField(properties_visible_to)
    kind = serializers.ChoiceField(choices=[(kind.value, kind.value) for kind in RegulationKind])
    value = RegulationValueSerializer()
    sentence = serializers.SerializerMethodField(help_text="The value in words")
    source_url = serializers.URLField(help_text="The state's page on which it was read: required")
    last_on = serializers.DateField(
        required=False, allow_null=True, help_text="Null: until another is entered"
    )
    is_unconfirmed = serializers.SerializerMethodField(
        help_text="More than a year has passed since somebody entered or confirmed it"
    )
    notice = serializers.SerializerMethodField(help_text="What this is, and is not")

    class Meta:
        model = Regulation
        fields = [
            "id",
            "property",
            "kind",
            "value",
            "sentence",
            "first_on",
            "last_on",
            "source_url",
            "notes",
            "entered_by",
            "entered_at",
            "confirmed_by",
            "confirmed_at",
            "is_unconfirmed",
            "withdrawn_at",
            "notice",
            "version",
            "created_at",
        ]
        read_only_fields = [
            "id",
            "entered_by",
            "entered_at",
            "confirmed_by",
            "confirmed_at",
            "withdrawn_at",
            "version",
            "created_at",
        ]

    def get_sentence(self, regulation: Regulation) -> str:
        return regulation_words(regulation.kind, regulation.value)

    def get_is_unconfirmed(self, regulation: Regulation) -> bool:
        return queries.is_value_unconfirmed(regulation, now=timezone.now())

    def get_notice(self, _regulation: Regulation) -> str:
        return NOTICE


class RegulationChangeSerializer(RegulationSerializer):
    """A value stays on its property and of its kind."""

    property = VisibleField(properties_visible_to, read_only=True)
    kind = serializers.ChoiceField(
        choices=[(kind.value, kind.value) for kind in RegulationKind], read_only=True
    )


class WithdrawRegulationSerializer(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=300, required=False, allow_blank=True, default="")


class OnADaySerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    on = serializers.DateField(help_text="A local date of the property")


class OrangeSerializer(serializers.Serializer[Any]):
    is_required = serializers.BooleanField()
    sentence = serializers.CharField()


class InForceSerializer(serializers.Serializer[queries.InForce]):
    """All that is entered for a property and holds on one local date."""

    property = serializers.UUIDField(source="land.id")
    on = serializers.DateField()
    notice = serializers.SerializerMethodField()
    is_closed_weekday = serializers.BooleanField()
    orange = OrangeSerializer()
    classes = serializers.ListField(
        child=serializers.CharField(),
        help_text="Classes of deer that the seasons of the day name; empty: none names any",
    )
    seasons = SeasonSerializer(many=True)
    values = RegulationSerializer(many=True)
    unconfirmed = serializers.SerializerMethodField(
        help_text="Seasons and kinds that nobody entered or confirmed within a year"
    )

    def get_notice(self, _found: queries.InForce) -> str:
        return NOTICE

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_unconfirmed(self, found: queries.InForce) -> list[str]:
        return list(queries.unconfirmed_names(found, now=timezone.now()))
