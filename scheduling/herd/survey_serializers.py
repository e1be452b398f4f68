"""A camera survey as it is told: its pictures, the estimate, and what speaks against it."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.views import actor_of_view
from properties.land.queries import properties_visible_to
from scheduling.herd import queries, services
from scheduling.herd.models import CameraSurvey
from scheduling.herd.population import ASSUMPTIONS, KNOWN_BIAS, METHOD, population, weaknesses
from scheduling.sits.queries import name_shown
from scrapes.cameras.queries import cameras_visible_to


class PopulationSerializer(serializers.Serializer[Any]):
    """The estimate by the buck-to-picture ratio. Fractions of deer are kept."""

    pictures_per_buck = serializers.FloatField()
    bucks = serializers.FloatField()
    does = serializers.FloatField()
    fawns = serializers.FloatField()
    deer = serializers.FloatField()
    does_per_buck = serializers.FloatField()
    fawns_per_doe = serializers.FloatField(allow_null=True, help_text="The fawn crop")
    deer_per_km2 = serializers.FloatField(allow_null=True)
    hectares_per_deer = serializers.FloatField(allow_null=True)
    unknown_share = serializers.FloatField(help_text="Of the deer in pictures, 0 to 1")
    deer_if_biased_as_published = serializers.FloatField(
        help_text="If this survey missed the mean share that published ones did; no correction"
    )


class EstimateSerializer(serializers.Serializer[Any]):
    """An estimate and everything that speaks against it."""

    figures = PopulationSerializer(
        allow_null=True, help_text="Null: pictures or bucks are not known, or no buck was told"
    )
    method = serializers.CharField()
    assumptions = serializers.ListField(child=serializers.CharField())
    known_bias = serializers.CharField()
    weaknesses = serializers.ListField(
        child=serializers.CharField(), help_text="Of this survey, against what is usual"
    )


class CameraSurveySerializer(serializers.ModelSerializer[CameraSurvey]):
    """A survey. Pictures count animals; which cameras they are is shown to managers alone."""

    property = VisibleField(properties_visible_to)
    cameras = VisibleField(cameras_visible_to, many=True, required=False)
    camera_count = serializers.SerializerMethodField()
    area_m2 = serializers.FloatField(
        min_value=1,
        max_value=1e9,
        required=False,
        help_text="From which deer come to the cameras; the property's area when left out",
    )
    bucks_decided_by_name = serializers.SerializerMethodField()
    estimate = serializers.SerializerMethodField()

    class Meta:
        model = CameraSurvey
        fields = [
            "id",
            "property",
            "name",
            "first_on",
            "last_on",
            "cameras",
            "camera_count",
            "species",
            "area_m2",
            "buck_pictures",
            "doe_pictures",
            "fawn_pictures",
            "unknown_pictures",
            "counted_from",
            "counted_at",
            "unique_bucks",
            "bucks_decided_by_name",
            "bucks_decided_at",
            "estimate",
            "notes",
            "retired_at",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = [
            "id",
            "counted_from",
            "counted_at",
            "bucks_decided_at",
            "retired_at",
            "version",
            "created_at",
            "updated_at",
        ]
        extra_kwargs = {
            **{name: {"min_value": 0, "max_value": 1_000_000} for name in services.PICTURES},
            "unique_bucks": {
                "min_value": 0,
                "max_value": 10_000,
                "help_text": "Bucks told apart; whoever sends it has decided it",
            },
            "species": {"help_text": "As the settings of visits name it; empty: all deer"},
        }
        validators: list[Any] = []

    def get_camera_count(self, survey: CameraSurvey) -> int:
        return len(survey.cameras.all())

    def get_bucks_decided_by_name(self, survey: CameraSurvey) -> str:
        """Who told the bucks apart, by the name that you may know; empty while nobody has."""
        if survey.bucks_decided_by is None:
            return ""
        actor = actor_of_view(dict(self.context))
        return name_shown(survey.bucks_decided_by, actor=actor, property_id=survey.property_id)

    @extend_schema_field(EstimateSerializer)
    def get_estimate(self, survey: CameraSurvey) -> dict[str, Any]:
        return dict(EstimateSerializer(_estimate(survey)).data)

    def to_representation(self, instance: CameraSurvey) -> dict[str, Any]:
        shown = super().to_representation(instance)
        actor = actor_of_view(dict(self.context))
        if not actor.may(Action.CAMERA_READ, instance.property_id):
            shown |= {"cameras": [], "notes": ""}
        return shown


def _estimate(survey: CameraSurvey) -> dict[str, Any]:
    counts = services.counts_of(survey)
    settings = queries.herd_settings_of(survey.property)
    return {
        "figures": None if counts is None else population(counts),
        "method": METHOD,
        "assumptions": ASSUMPTIONS,
        "known_bias": KNOWN_BIAS,
        "weaknesses": ()
        if counts is None
        else weaknesses(
            counts,
            cameras=len(survey.cameras.all()),
            days=(survey.last_on - survey.first_on).days + 1,
            hectares_per_camera=settings.hectares_per_camera,
            survey_days=settings.survey_days,
            fewest_bucks=settings.fewest_bucks,
        ),
    }


class CameraSurveyChangeSerializer(CameraSurveySerializer):
    """A survey stays on its property."""

    property = VisibleField(properties_visible_to, read_only=True)


class NamedBuckSerializer(serializers.Serializer[Any]):
    individual = serializers.CharField()
    pictures = serializers.IntegerField()


class SurveyPicturesSerializer(serializers.Serializer[Any]):
    """The pictures behind a survey, to decide how many bucks they show."""

    buck_pictures = serializers.IntegerField()
    doe_pictures = serializers.IntegerField()
    fawn_pictures = serializers.IntegerField()
    unknown_pictures = serializers.IntegerField()
    untagged = serializers.IntegerField(help_text="Looked at by nobody: counted as nothing")
    bucks_named = NamedBuckSerializer(
        many=True, help_text="Named in pictures. Unnamed pictures may show others"
    )
    buck_pictures_unnamed = serializers.IntegerField()
