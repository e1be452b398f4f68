"""A property's week ahead over HTTP, for its managers; made anew at each question."""

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.instants import as_of_record
from coop.api.rendering import FastJSONRenderer, PageRenderer, TableRenderer
from coop.api.views import ActorViewSet
from coop.reports.grounds import NO_ID, GroundSerializer, grounds_of
from coop.reports.renderers import csv_answer, page_answer
from coop.reports.tables import of_record
from coop.reports.week.figures import WeekFigures
from coop.reports.week.gather import week_ahead
from coop.reports.week.pages import write_week_page
from coop.reports.week.tables import TABLES
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.land.units import UnitSystem
from properties.people.queries import units_of


def told_figures(figures: WeekFigures) -> dict[str, Any]:
    """As answered: what is of a record, and not of the ground, ends with Z."""
    told = of_record(figures.as_dict())
    if told["forecast"] is not None:
        for name in ("issued_at", "received_at"):
            told["forecast"][name] = as_of_record(told["forecast"][name])
    return told


@extend_schema(
    parameters=[
        OpenApiParameter("id", OpenApiTypes.UUID, OpenApiParameter.PATH, description="A property")
    ]
)
class WeekAheadViewSet(ActorViewSet):
    """Sits, errands, forecast and conflicts of the next seven days on a property."""

    tag = "reports"
    needs = {
        "list": Action.WEEK_AHEAD_READ,
        "figures": Action.WEEK_AHEAD_READ,
        "html": Action.WEEK_AHEAD_READ,
        "table": Action.WEEK_AHEAD_READ,
    }
    pagination_class = None
    filter_backends = []
    queryset = Property.objects.none()

    @extend_schema(responses=GroundSerializer(many=True), parameters=NO_ID)
    def list(self, request: Request) -> Response:
        """The properties whose week you may read, with the address of each."""
        return Response(GroundSerializer(grounds_of(self, "week-ahead"), many=True).data)

    @extend_schema(responses=OpenApiTypes.OBJECT)
    @action(detail=True)
    def figures(self, request: Request, pk: str) -> Response:
        """Every figure of the week from today, in m/s, °C and mm, with its sources and rules.

        Sentences of rules are in the reader's units.
        """
        return Response(told_figures(self._figures(pk, units_of(self.actor))))

    @extend_schema(responses={(200, "text/html"): OpenApiTypes.STR})
    @action(detail=True, renderer_classes=[PageRenderer, FastJSONRenderer])
    def html(self, request: Request, pk: str) -> Response:
        """The week as a page, in the reader's units."""
        units = units_of(self.actor)
        return page_answer(write_week_page(self._figures(pk, units), units=units))

    @extend_schema(
        parameters=[OpenApiParameter("table", str, OpenApiParameter.PATH, enum=sorted(TABLES))],
        responses={(200, "text/csv"): OpenApiTypes.STR},
    )
    @action(
        detail=True,
        url_path=r"tables/(?P<table>[a-z_]+)",
        renderer_classes=[TableRenderer, FastJSONRenderer],
    )
    def table(self, request: Request, pk: str, table: str) -> Response:
        """One table of the week as CSV; cells cannot act as a spreadsheet's formulas."""
        figures = self._figures(pk, units_of(self.actor))
        return csv_answer(TABLES, table, figures.as_dict(), period=f"{figures.first_on}")

    def _figures(self, pk: str, units: UnitSystem) -> WeekFigures:
        rows = properties_visible_to(actor=self.actor).select_related("cooperative")
        land = self.find(rows, pk)
        self.actor.require(self.needed, land.id)
        return week_ahead(land=land, now=self.now, units=units)
