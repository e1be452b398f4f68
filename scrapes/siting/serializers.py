"""What is asked about places for scrapes, and what is answered."""

from collections.abc import Mapping
from typing import Any

from rest_framework import serializers

from coop.api.fields import VisibleField
from properties.land.queries import properties_visible_to
from properties.stands.models import finite
from properties.wind.sectors import SECTOR_NAMES
from scrapes.siting.build_sheet import BuildSheet, Support
from scrapes.siting.queries import SiteAnswer
from scrapes.siting.search import SearchAnswer

CAUTION = (
    "This compares a place with the property's settings. It makes no place, stand or shot safe or "
    "legal: local law, the lease and your own eyes on the ground come first."
)


def _azimuth(**fields: Any) -> serializers.FloatField:
    return serializers.FloatField(
        validators=[finite],
        min_value=0,
        max_value=360,
        help_text="Where the branch points, degrees true; the best one is taken when left out",
        **fields,
    )


class PlaceSerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    longitude = serializers.FloatField(validators=[finite], min_value=-180, max_value=180)
    latitude = serializers.FloatField(validators=[finite], min_value=-85, max_value=85)
    branch_azimuth_deg = _azimuth(required=False, allow_null=True, default=None)


class SearchSerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    spacing_m = serializers.FloatField(
        required=False,
        allow_null=True,
        default=None,
        validators=[finite],
        min_value=2,
        max_value=200,
        help_text="Spacing of the grid; the property's setting when left out",
    )
    reach_m = serializers.FloatField(
        required=False,
        allow_null=True,
        default=None,
        validators=[finite],
        min_value=1,
        max_value=300,
        help_text="How far off corridors and plot edges; the property's setting when left out",
    )
    most = serializers.IntegerField(
        default=10, min_value=1, max_value=50, help_text="Places to tell, the best first"
    )


class SheetQuerySerializer(serializers.Serializer[Any]):
    """With a place the sheet has a map of it."""

    property = VisibleField(properties_visible_to)
    branch_azimuth_deg = serializers.FloatField(validators=[finite], min_value=0, max_value=360)
    support = serializers.ChoiceField(
        choices=[(support.value, support.value) for support in Support],
        default=Support.STEEL_POST.value,
    )
    longitude = serializers.FloatField(
        required=False, validators=[finite], min_value=-180, max_value=180
    )
    latitude = serializers.FloatField(
        required=False, validators=[finite], min_value=-85, max_value=85
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        for name, other in (("longitude", "latitude"), ("latitude", "longitude")):
            if name in attrs and other not in attrs:
                raise serializers.ValidationError({other: f"Needed together with {name}."})
        return attrs


class ReasonSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    subject = serializers.CharField()
    holds = serializers.BooleanField(
        allow_null=True, help_text="Null where there was nothing to judge by"
    )
    sentence = serializers.CharField()
    facts = serializers.DictField()


class DownwindShareSerializer(serializers.Serializer[Any]):
    stand = serializers.CharField()
    hours = serializers.IntegerField()
    share = serializers.FloatField()


class SeasonAirSerializer(serializers.Serializer[Any]):
    first_on = serializers.DateField()
    last_on = serializers.DateField()
    assumed = serializers.BooleanField(help_text="No season is entered; around the peak")
    sun_azimuths_deg = serializers.ListField(child=serializers.FloatField())
    sessions_past = serializers.IntegerField(
        source="wind.sessions_past", help_text="Sessions of past days of the season"
    )
    sessions_recorded = serializers.SerializerMethodField(
        help_text="Those whose every hour has its wind on record"
    )
    wind_hours = serializers.SerializerMethodField()
    wind_sector_shares = serializers.SerializerMethodField()

    def get_sessions_recorded(self, air: Any) -> int:
        return len(air.wind.sessions)

    def get_wind_hours(self, air: Any) -> int:
        return len(air.wind.wind_from_deg)

    def get_wind_sector_shares(self, air: Any) -> dict[str, float]:
        return dict(zip(SECTOR_NAMES, air.wind.sector_shares, strict=True))


class MarkPartsSerializer(serializers.Serializer[Any]):
    """What the mark is the weighted mean of, 0 to 1 each; null where not known."""

    sessions = serializers.FloatField(allow_null=True)
    downwind = serializers.FloatField(allow_null=True)
    broadside = serializers.FloatField(allow_null=True)
    route = serializers.FloatField(allow_null=True)


class JudgedPlaceSerializer(serializers.Serializer[SiteAnswer]):
    """Says what the settings ask; it calls no place, stand or shot safe or legal."""

    longitude = serializers.FloatField()
    latitude = serializers.FloatField()
    fits_settings = serializers.BooleanField(
        help_text="Nothing speaks against the place, its cameras, or its best stand"
    )
    objections = serializers.ListField(
        child=serializers.CharField(), help_text="Codes of the reasons that speak against it"
    )
    best_stand = serializers.CharField(allow_null=True)
    mark = serializers.FloatField(help_text="0 to 1, to compare places with as many objections")
    mark_parts = MarkPartsSerializer(source="parts")
    branch_azimuth_deg = serializers.FloatField(allow_null=True)
    azimuth_given = serializers.BooleanField()
    best_azimuth_deg = serializers.FloatField(
        allow_null=True,
        help_text="Best for all stands and cameras; turned half round it is as good",
    )
    best_worst_off_broadside_deg = serializers.FloatField(allow_null=True)
    stands = serializers.SerializerMethodField()
    cameras = serializers.SerializerMethodField()
    reasons = ReasonSerializer(many=True)
    downwind_in_shot = DownwindShareSerializer(many=True, source="downwind")
    not_judged = serializers.ListField(child=serializers.CharField())

    def get_stands(self, answer: SiteAnswer) -> list[dict[str, Any]]:
        return _watchers(answer.stand_off_broadside_deg)

    def get_cameras(self, answer: SiteAnswer) -> list[dict[str, Any]]:
        return _watchers(answer.camera_off_broadside_deg)


class SiteAnswerSerializer(JudgedPlaceSerializer):
    season = SeasonAirSerializer(source="air")
    cautions = serializers.SerializerMethodField()

    def get_cautions(self, answer: SiteAnswer) -> list[str]:
        return [CAUTION]


class SearchAnswerSerializer(serializers.Serializer[SearchAnswer]):
    """The best places first; the counts add up to every place that was laid."""

    spacing_m = serializers.FloatField()
    reach_m = serializers.FloatField()
    apart_m = serializers.FloatField(help_text="No two places told lie nearer to each other")
    laid = serializers.IntegerField()
    excluded = serializers.DictField(
        child=serializers.IntegerField(), help_text="Places shut out, by the first reason"
    )
    judged = serializers.IntegerField()
    fitting = serializers.IntegerField()
    falling_short = serializers.IntegerField()
    reconciliation = serializers.CharField()
    season = SeasonAirSerializer(source="air")
    places = JudgedPlaceSerializer(many=True)
    cautions = serializers.SerializerMethodField()

    def get_cautions(self, answer: SearchAnswer) -> list[str]:
        return [CAUTION]


class BuildCautionSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    sentence = serializers.CharField()


class BuildSheetSerializer(serializers.Serializer[Any]):
    """Cautions belong to the sheet; nothing leaves one out."""

    support = serializers.CharField()
    cautions = BuildCautionSerializer(many=True)
    materials = serializers.ListField(child=serializers.CharField())
    measures = serializers.SerializerMethodField()
    steps = serializers.ListField(child=serializers.CharField())

    def get_measures(self, sheet: BuildSheet) -> list[str]:
        return [str(measure) for measure in sheet.measures]


def _watchers(angles: Mapping[str, float]) -> list[dict[str, Any]]:
    return [{"name": name, "off_broadside_deg": angle} for name, angle in angles.items()]
