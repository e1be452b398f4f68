"""Where to put a scrape, and the sheet to build it by, over HTTP."""

from collections.abc import Mapping
from typing import Any

import orjson
from django.db.models import QuerySet
from django.template.loader import render_to_string
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import KnownParametersFilter
from coop.api.rendering import FastJSONRenderer
from coop.api.views import ActorViewSet
from properties.land.queries import properties_visible_to
from properties.stands.models import finite
from properties.wind.sectors import SECTOR_NAMES
from scrapes.sites.models import Scrape
from scrapes.sites.queries import scrapes_visible_to
from scrapes.siting.build_sheet import BuildSheet, Support, build_sheet
from scrapes.siting.queries import SiteAnswer, judge_place, siting_settings

# The sheet needs its own styles and nothing from anywhere.
PAGE_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'; sandbox",
    "Cache-Control": "private, no-cache",
}


class SheetPageRenderer(BaseRenderer):
    """The sheet as a page; problem details leave as JSON, as everywhere."""

    media_type = "text/html"
    format = "html"
    charset = "utf-8"

    def render(
        self,
        data: Any,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, Any] | None = None,
    ) -> bytes | str:
        return data if isinstance(data, str) else orjson.dumps(data)


class PlaceSerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    longitude = serializers.FloatField(validators=[finite], min_value=-180, max_value=180)
    latitude = serializers.FloatField(validators=[finite], min_value=-85, max_value=85)
    branch_azimuth_deg = serializers.FloatField(
        required=False,
        allow_null=True,
        default=None,
        validators=[finite],
        min_value=0,
        max_value=360,
        help_text="Where the branch points, degrees true; the best one is taken when left out",
    )


class SheetQuerySerializer(serializers.Serializer[Any]):
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
        required=False, validators=[finite], min_value=-90, max_value=90
    )


class ReasonSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    subject = serializers.CharField()
    holds = serializers.BooleanField(
        allow_null=True, help_text="Null where there was nothing to judge by"
    )
    sentence = serializers.CharField()
    facts = serializers.DictField()


class WatcherSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    off_broadside_deg = serializers.FloatField()


class DownwindShareSerializer(serializers.Serializer[Any]):
    stand = serializers.CharField()
    hours = serializers.IntegerField()
    share = serializers.FloatField()


class SeasonAirSerializer(serializers.Serializer[Any]):
    first_on = serializers.DateField()
    last_on = serializers.DateField()
    assumed = serializers.BooleanField(help_text="No season is entered; around the peak")
    sun_azimuths_deg = serializers.ListField(child=serializers.FloatField())
    wind_source = serializers.CharField(source="wind.source")
    wind_hours = serializers.SerializerMethodField()
    wind_sector_shares = serializers.SerializerMethodField()

    def get_wind_hours(self, air: Any) -> int:
        return len(air.wind.wind_from_deg)

    def get_wind_sector_shares(self, air: Any) -> dict[str, float]:
        return dict(zip(SECTOR_NAMES, air.wind.sector_shares, strict=True))


class SiteAnswerSerializer(serializers.Serializer[SiteAnswer]):
    """Says what the settings ask; it calls no place, stand or shot safe or legal."""

    fits_settings = serializers.BooleanField()
    branch_azimuth_deg = serializers.FloatField(allow_null=True)
    azimuth_given = serializers.BooleanField()
    best_azimuth_deg = serializers.FloatField(
        source="judgement.best_azimuth_deg",
        allow_null=True,
        help_text="Best for all stands and cameras; turned half round it is as good",
    )
    best_worst_off_broadside_deg = serializers.FloatField(
        source="judgement.best_worst_off_broadside_deg", allow_null=True
    )
    stands = serializers.SerializerMethodField()
    cameras = serializers.SerializerMethodField()
    reasons = ReasonSerializer(many=True)
    season = SeasonAirSerializer(source="air")
    downwind_in_shot = DownwindShareSerializer(many=True, source="downwind")
    not_judged = serializers.ListField(child=serializers.CharField())
    cautions = serializers.SerializerMethodField()

    def get_stands(self, answer: SiteAnswer) -> list[dict[str, Any]]:
        return _watchers(answer.judgement.stand_off_broadside_deg)

    def get_cameras(self, answer: SiteAnswer) -> list[dict[str, Any]]:
        return _watchers(answer.judgement.camera_off_broadside_deg)

    def get_cautions(self, answer: SiteAnswer) -> list[str]:
        return [
            "This compares a place with the property's settings. It makes no place, stand or shot "
            "safe or legal: local law, the lease and your own eyes on the ground come first."
        ]


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


class SitingViewSet(ActorViewSet):
    """Where a scrape belongs, how its branch is turned, and how it is built."""

    tag = "scrapes"
    needs = {"judge": Action.SCRAPE_WRITE, "build_sheet": Action.SCRAPE_READ}
    serializer_class = SiteAnswerSerializer
    pagination_class = None
    filter_backends = [KnownParametersFilter]
    extra_parameters = ("property", "branch_azimuth_deg", "support", "longitude", "latitude")

    def get_queryset(self) -> QuerySet[Scrape]:
        return scrapes_visible_to(actor=self.actor)

    @extend_schema(
        request=PlaceSerializer,
        responses=SiteAnswerSerializer,
        examples=[
            OpenApiExample(
                "A place by the bench",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000001",
                    "longitude": -91.4955,
                    "latitude": 43.2042,
                    "branch_azimuth_deg": 140,
                },
                request_only=True,
            )
        ],
    )
    @action(detail=False, methods=["post"])
    def judge(self, request: Request) -> Response:
        """Judge a place for a scrape; every figure comes with its reason. Nothing is stored."""
        fields = self.read(PlaceSerializer)
        land = fields.pop("property")
        self.actor.require(self.needed, land.id)
        answer = judge_place(land, now=self.now, **fields)
        return Response(self.get_serializer(answer).data)

    @extend_schema(
        parameters=[SheetQuerySerializer],
        responses={
            (200, "application/json"): BuildSheetSerializer,
            (200, "text/html"): OpenApiTypes.STR,
        },
    )
    @action(
        detail=False,
        url_path="build-sheet",
        renderer_classes=[FastJSONRenderer, SheetPageRenderer],
    )
    def build_sheet(self, request: Request) -> Response:
        """Material, measures, steps and cautions for one site; a page with `format=html`."""
        self.filter_queryset(self.get_queryset())
        asked = SheetQuerySerializer(
            data=request.query_params, context=self.get_serializer_context()
        )
        asked.is_valid(raise_exception=True)
        fields = asked.validated_data
        land = fields["property"]
        self.actor.require(self.needed, land.id)
        sheet = build_sheet(
            support=Support(fields["support"]),
            branch_azimuth_deg=fields["branch_azimuth_deg"],
            settings=siting_settings(land),
        )
        shown = BuildSheetSerializer(sheet).data
        renderer = request.accepted_renderer
        if renderer is None or renderer.format != SheetPageRenderer.format:
            return Response(shown)
        place = {name: fields.get(name) for name in ("longitude", "latitude")}
        page = render_to_string(
            "scrapes/build_sheet.html", {**shown, **place, "property_name": land.name}
        )
        return Response(page, content_type="text/html; charset=utf-8", headers=PAGE_HEADERS)


def _watchers(angles: Mapping[str, float]) -> list[dict[str, Any]]:
    return [{"name": name, "off_broadside_deg": angle} for name, angle in angles.items()]
