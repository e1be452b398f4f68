"""Cooperatives, properties, features and settings as the API takes and gives them."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.views import actor_of_view
from properties.land import queries
from properties.land.models import Cooperative, Feature, Property
from properties.land.papers_asked import papers_asked


@extend_schema_field(
    {
        "type": "object",
        "additionalProperties": {
            "type": ["object", "null"],
            "additionalProperties": True,
            "description": "A group: values by name; null takes back all of its values",
        },
        "description": "What this layer sets for itself, by group and name (/api/v1/settings/). "
        "What is sent is laid over what is stored, by group and name: the rest stays, null takes "
        "a value back to the layer above or the default, and a value that is an object or a list "
        "is replaced whole. Every fault is told at its own place, as #/settings/wind/fit_floor.",
        "example": {"house_rules": {"rest_days": 4, "book_ahead_days": None}},
    }
)
class SettingsField(serializers.JSONField):
    """The settings of one layer: stored ones out, a change of them in; the service checks it."""


class CooperativeSerializer(serializers.ModelSerializer[Cooperative]):
    settings = SettingsField(required=False)

    class Meta:
        model = Cooperative
        fields = ["id", "name", "settings", "version", "created_at", "updated_at"]
        read_only_fields = ["id", "version", "created_at", "updated_at"]


class PropertySerializer(serializers.ModelSerializer[Property]):
    cooperative = VisibleField(queries.cooperatives_visible_to)
    boundary = serializers.JSONField(help_text="GeoJSON Polygon or MultiPolygon, WGS 84")
    required_papers = serializers.SerializerMethodField(
        help_text="Kinds of paper that a member or an outfitter's client holds on the day of a sit"
    )
    required_guest_papers = serializers.SerializerMethodField(
        help_text="Kinds of paper that a member's guest holds on the day of a sit"
    )
    settings = SettingsField(required=False)

    class Meta:
        model = Property
        fields = [
            "id",
            "cooperative",
            "name",
            "time_zone",
            "boundary",
            "area_m2",
            "longitude",
            "latitude",
            "peak_of_breeding",
            "access_notes",
            "required_papers",
            "required_guest_papers",
            "settings",
            "version",
            "retired_at",
            "created_at",
            "updated_at",
        ]
        read_only_fields = [
            "id",
            "area_m2",
            "longitude",
            "latitude",
            "version",
            "retired_at",
            "created_at",
            "updated_at",
        ]

    def get_required_papers(self, row: Property) -> list[str]:
        return list(papers_asked(row).hunters)

    def get_required_guest_papers(self, row: Property) -> list[str]:
        return list(papers_asked(row).guests)

    def to_representation(self, row: Property) -> dict[str, Any]:
        """Whoever may not see the map is told neither the way in nor the house's settings."""
        shown = super().to_representation(row)
        shown["peak_of_breeding"] = row.peak_of_breeding_as_set or ""
        if not actor_of_view(self.context).may(Action.FEATURE_READ, row.id):
            shown |= {"access_notes": "", "settings": {}}
        return shown


class PropertyChangeSerializer(PropertySerializer):
    """A property stays in its cooperative."""

    cooperative = VisibleField(queries.cooperatives_visible_to, read_only=True)


class FeatureSerializer(serializers.ModelSerializer[Feature]):
    property = VisibleField(queries.properties_visible_to)
    geometry = serializers.JSONField(help_text="GeoJSON geometry, WGS 84, longitude first")

    class Meta:
        model = Feature
        fields = [
            "id",
            "property",
            "kind",
            "name",
            "geometry",
            "notes",
            "hazard_sort",
            "has_backstop",
            "version",
            "retired_at",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "retired_at", "created_at", "updated_at"]


class FeatureChangeSerializer(FeatureSerializer):
    """A feature stays on its property."""

    property = VisibleField(queries.properties_visible_to, read_only=True)


class SettingSerializer(serializers.Serializer[Any]):
    group = serializers.CharField()
    name = serializers.CharField()
    default = serializers.JSONField()
    unit = serializers.CharField(allow_null=True)
    minimum = serializers.FloatField(allow_null=True)
    maximum = serializers.FloatField(allow_null=True)
    description = serializers.CharField()
