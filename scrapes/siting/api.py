"""Where to put a scrape, and the sheet to build it by, over HTTP."""

from collections.abc import Mapping
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import KnownParametersFilter
from coop.api.problems import NoPaper
from coop.api.rendering import (
    PAGE_HEADERS,
    FastJSONRenderer,
    PageRenderer,
    PaperRenderer,
    PictureRenderer,
)
from coop.api.views import ActorViewSet
from coop.jobs.api import StartedJobSerializer, started
from coop.printing.paper import to_pdf
from scrapes.sites.models import Scrape
from scrapes.sites.queries import scrapes_visible_to
from scrapes.siting.build_sheet import Support, build_sheet
from scrapes.siting.jobs import queue_search
from scrapes.siting.pages import place_map, sheet_page
from scrapes.siting.queries import judge_place, siting_settings
from scrapes.siting.search import lay_search, run_search
from scrapes.siting.serializers import (
    BuildSheetSerializer,
    PlaceSerializer,
    SearchAnswerSerializer,
    SearchSerializer,
    SheetQuerySerializer,
    SiteAnswerSerializer,
)

BENCH = {
    "property": "0193a1c2-0000-7000-8000-000000000001",
    "longitude": -91.4955,
    "latitude": 43.2042,
    "branch_azimuth_deg": 140,
}


class SitingViewSet(ActorViewSet):
    """Where a scrape belongs, how its branch is turned, and how it is built."""

    tag = "scrapes"
    needs = {
        "judge": Action.SCRAPE_WRITE,
        "search": Action.SCRAPE_WRITE,
        "picture": Action.SCRAPE_WRITE,
        "build_sheet": Action.SCRAPE_READ,
    }
    serializer_class = SiteAnswerSerializer
    pagination_class = None
    filter_backends = [KnownParametersFilter]
    extra_parameters = ("property", "branch_azimuth_deg", "support", "longitude", "latitude")

    def get_queryset(self) -> QuerySet[Scrape]:
        return scrapes_visible_to(actor=self.actor)

    @extend_schema(
        request=PlaceSerializer,
        responses=SiteAnswerSerializer,
        examples=[OpenApiExample("A place by the bench", value=BENCH, request_only=True)],
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
        request=SearchSerializer,
        responses={200: SearchAnswerSerializer, 202: StartedJobSerializer},
        examples=[
            OpenApiExample(
                "Along every corridor and plot edge",
                value={"property": BENCH["property"], "spacing_m": 10, "reach_m": 30, "most": 5},
                request_only=True,
            )
        ],
    )
    @action(detail=False, methods=["post"])
    def search(self, request: Request) -> Response:
        """Judge a grid of places along mapped corridors and food plots; the best come first.

        Answers at once where few sessions are to be judged, else with a job to poll, whose
        result is the same answer. Nothing is stored but that.
        """
        fields = self.read(SearchSerializer)
        land = fields.pop("property")
        self.actor.require(self.needed, land.id)
        most = fields.pop("most")
        laid = lay_search(land, now=self.now, **fields)
        if laid.is_long:
            run = queue_search(
                property_id=land.id,
                most=most,
                now=self.now,
                requested_by_id=self.actor.account_id,
                **fields,
            )
            return started(run)
        return Response(SearchAnswerSerializer(run_search(laid, most=most)).data)

    @extend_schema(
        parameters=[PlaceSerializer], responses={(200, "image/svg+xml"): OpenApiTypes.STR}
    )
    @action(detail=False, renderer_classes=[PictureRenderer, FastJSONRenderer])
    def picture(self, request: Request) -> Response:
        """A small map of a place: scrape, branch, stands, cameras, routes, the downwind side.

        North is up. It has its words inside for whoever cannot see it, and colours for a dark
        screen.
        """
        fields = self._asked(PlaceSerializer)
        land = fields.pop("property")
        self.actor.require(self.needed, land.id)
        svg = place_map(land, with_cameras=True, now=self.now, **fields)
        return Response(svg, content_type="image/svg+xml; charset=utf-8", headers=PAGE_HEADERS)

    @extend_schema(
        parameters=[SheetQuerySerializer],
        responses={
            (200, "application/json"): BuildSheetSerializer,
            (200, "text/html"): OpenApiTypes.STR,
            (200, "application/pdf"): OpenApiTypes.BINARY,
        },
    )
    @action(
        detail=False,
        url_path="build-sheet",
        renderer_classes=[FastJSONRenderer, PageRenderer, PaperRenderer],
    )
    def build_sheet(self, request: Request) -> Response:
        """Material, measures, steps and cautions for one site.

        A page with `format=html`, the same on paper with `format=pdf`; both have a map where
        longitude and latitude are given. Where the server cannot make a PDF it says which
        library it lacks.
        """
        fields = self._asked(SheetQuerySerializer)
        land = fields["property"]
        self.actor.require(self.needed, land.id)
        sheet = build_sheet(
            support=Support(fields["support"]),
            branch_azimuth_deg=fields["branch_azimuth_deg"],
            settings=siting_settings(land),
        )
        shown = BuildSheetSerializer(sheet).data
        wanted = request.accepted_renderer.format if request.accepted_renderer else "json"
        if wanted not in (PageRenderer.format, PaperRenderer.format):
            return Response(shown)
        page = self._page(shown, fields)
        if wanted == PageRenderer.format:
            return Response(page, content_type="text/html; charset=utf-8", headers=PAGE_HEADERS)
        paper = to_pdf(page)
        if paper.pdf is None:
            raise NoPaper(paper.missing_reason)
        headers = PAGE_HEADERS | {"Content-Disposition": 'inline; filename="build-sheet.pdf"'}
        return Response(paper.pdf, content_type="application/pdf", headers=headers)

    def _page(self, sheet: dict[str, Any], fields: Mapping[str, Any]) -> str:
        land = fields["property"]
        place = {name: fields[name] for name in ("longitude", "latitude") if name in fields}
        svg = (
            place_map(
                land,
                **place,
                branch_azimuth_deg=fields["branch_azimuth_deg"],
                with_cameras=self.actor.may(Action.CAMERA_READ, land.id),
                now=self.now,
            )
            if place
            else ""
        )
        return sheet_page(sheet, land=land, svg=svg, place=place)

    def _asked(self, kind: type[serializers.Serializer[Any]]) -> dict[str, Any]:
        """What the query asks, checked; unknown parameters are refused."""
        self.filter_queryset(self.get_queryset())
        asked = kind(data=self.request.query_params, context=self.get_serializer_context())
        asked.is_valid(raise_exception=True)
        return dict(asked.validated_data)
