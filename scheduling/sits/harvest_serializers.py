"""Deer taken and plans of harvest as they go in and out over HTTP."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from coop.access.roles import Action
from coop.api.fields import LocalInstantField, VisibleField
from coop.api.views import actor_of_view
from properties.land.geometry import parse_geometry
from properties.land.positions import InvalidGeometry
from properties.land.queries import properties_visible_to
from properties.land.year_fields import SeasonYearField
from properties.people.queries import persons_visible_to
from properties.stands.api import POINT_SCHEMA
from scheduling.sits import queries
from scheduling.sits.harvest_checks import doubts
from scheduling.sits.harvest_queries import as_deer, harvest_settings_of
from scheduling.sits.models import Harvest, HarvestPlan

DATA_FIELDS = [
    "harvest_class",
    "sex",
    "taken_at",
    "place",
    "weapon",
    "age_years",
    "age_method",
    "dressed_weight_kg",
    "lactating",
    "beam_length_mm",
    "antler_points",
    "base_circumference_mm",
    "inside_spread_mm",
    "tag",
    "sample_number",
    "sample_result",
    "check_number",
    "individual",
    "notes",
]


@extend_schema_field({"oneOf": [POINT_SCHEMA, {"type": "null"}]})
class TakenPlaceField(serializers.Field[Any, Any, Any, Any]):
    """Where the deer was hit, as a GeoJSON Point; it may lie beyond the boundary."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", "Where it was hit; null where nobody said")
        super().__init__(source="*", required=False, allow_null=True, **kwargs)

    def to_representation(self, value: Harvest) -> dict[str, Any] | None:
        if value.longitude is None:
            return None
        return {"type": "Point", "coordinates": [value.longitude, value.latitude]}

    def to_internal_value(self, data: Any) -> dict[str, float | None]:
        if data is None:
            return {"longitude": None, "latitude": None}
        try:
            point = parse_geometry(data, shapes=frozenset({"Point"}))
        except InvalidGeometry as problem:
            raise serializers.ValidationError(str(problem)) from problem
        longitude, latitude = point.coords[0][:2]
        return {"longitude": longitude, "latitude": latitude}


class HarvestDataSerializer(serializers.ModelSerializer[Harvest]):
    """What is written down of a deer; everything but its class may be unknown."""

    taken_at = LocalInstantField(place="property", help_text="When it was hit")
    place = TakenPlaceField()
    tag = VisibleField(
        queries.tags_visible_to,
        required=False,
        allow_null=True,
        help_text="The hunter's own tag or permit that was used on it",
    )

    class Meta:
        model = Harvest
        fields: list[str] = DATA_FIELDS
        extra_kwargs = {
            "sex": {"help_text": "unknown is a class of its own"},
            "antler_points": {"min_value": 0, "max_value": 200, "help_text": "Both antlers"},
            "beam_length_mm": {"help_text": "The longer main beam"},
            "individual": {"help_text": "The name this deer has in pictures"},
            "lactating": {"help_text": "In milk; null where nobody looked"},
        }


class ReportedHarvestSerializer(HarvestDataSerializer):
    """A deer told with the report of a sit."""

    taken_at = LocalInstantField(
        place="property", required=False, help_text="The check-out, when left out"
    )


class DoubtSerializer(serializers.Serializer[Any]):
    """Something odd about a field that is kept all the same: look at it again."""

    field = serializers.CharField()
    code = serializers.CharField()
    sentence = serializers.CharField()


class HarvestSerializer(HarvestDataSerializer):
    """A deer taken. Members know each other by first name; who it was is null to them.

    Place, tag, sample, check number and which deer it was are shown to the hunter, their host
    and managers alone; the landowner sees none of them.
    """

    null_to_members = ("sit", "person")
    null_to_others = ("place", "tag", "sample_result", "individual")
    null_unless_shown = (*null_to_members, *null_to_others)
    empty_to_others = ("sample_number", "check_number")
    property = VisibleField(properties_visible_to)
    sit = VisibleField(queries.sits_visible_to, required=False, allow_null=True)
    person = VisibleField(persons_visible_to, required=False, help_text="You, when left out")
    person_name = serializers.SerializerMethodField()
    warnings = serializers.SerializerMethodField()

    class Meta(HarvestDataSerializer.Meta):
        fields = [
            "id",
            "property",
            "sit",
            "person",
            "person_name",
            *DATA_FIELDS,
            "warnings",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "created_at", "updated_at"]

    def get_person_name(self, harvest: Harvest) -> str:
        return queries.name_shown(
            harvest.person,
            actor=actor_of_view(dict(self.context)),
            property_id=harvest.property_id,
        )

    @extend_schema_field(DoubtSerializer(many=True))
    def get_warnings(self, harvest: Harvest) -> list[dict[str, str]]:
        """What is unusual about the record, by the property's settings."""
        known = self.context.setdefault("harvest_settings", {})  # type: ignore[attr-defined]
        if harvest.property_id not in known:
            known[harvest.property_id] = harvest_settings_of(harvest.property)
        found = doubts(as_deer(harvest), settings=known[harvest.property_id])
        return [{"field": one.field, "code": one.code, "sentence": one.sentence} for one in found]

    def to_representation(self, instance: Harvest) -> dict[str, Any]:
        shown = super().to_representation(instance)
        actor = actor_of_view(dict(self.context))
        is_own = actor.is_one_of(instance.person_id, instance.person.host_id)
        if not (is_own or actor.may(Action.REPORT_READ, instance.property_id)):
            shown |= {**dict.fromkeys(self.null_to_members), "notes": ""}
        if not (is_own or actor.may(Action.SIT_MANAGE, instance.property_id)):
            shown |= dict.fromkeys(self.null_to_others)
            shown |= {**dict.fromkeys(self.empty_to_others, ""), "warnings": []}
        return shown


class HarvestChangeSerializer(HarvestSerializer):
    """A deer stays with whoever took it, where it was taken."""

    property = VisibleField(properties_visible_to, read_only=True)
    sit = VisibleField(queries.sits_visible_to, read_only=True)
    person = VisibleField(persons_visible_to, read_only=True)


class HarvestPlanSerializer(serializers.ModelSerializer[HarvestPlan]):
    """How many of a class are planned; `season_year` is the year in which its year begins."""

    property = VisibleField(properties_visible_to)
    season_year = SeasonYearField()
    planned = serializers.IntegerField(min_value=0, max_value=1_000)
    places_reserved = serializers.BooleanField(
        default=True,
        help_text="Keep a place for each who sits, so that nobody fills another's",
    )

    class Meta:
        model = HarvestPlan
        fields = [
            "id",
            "property",
            "season_year",
            "harvest_class",
            "sex",
            "planned",
            "places_reserved",
            "filled_at",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "filled_at", "version", "created_at", "updated_at"]
        extra_kwargs = {"sex": {"help_text": "Empty: the class as a whole"}}
        # The service answers for the whole row; a half-sent one is no other plan.
        validators: list[Any] = []


class HarvestPlanChangeSerializer(serializers.Serializer[Any]):
    planned = serializers.IntegerField(min_value=0, max_value=1_000, required=False)
    places_reserved = serializers.BooleanField(required=False)
