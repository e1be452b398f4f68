"""One's own season over HTTP; nobody else's can be asked for."""

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.api.asking import read_query
from coop.api.problems import NotAllowed
from coop.api.rendering import FastJSONRenderer, PageRenderer, TableRenderer
from coop.api.views import ActorViewSet
from coop.reports.own.figures import OwnSeason
from coop.reports.own.gather import current_season_year, own_season
from coop.reports.own.pages import write_own_page
from coop.reports.own.tables import TABLES
from coop.reports.renderers import csv_answer, page_answer
from coop.reports.tables import of_record
from properties.people.models import Person


class SeasonQuerySerializer(serializers.Serializer[Any]):
    season_year = serializers.IntegerField(
        min_value=1990,
        max_value=2200,
        required=False,
        help_text="The year in which the season's year began; the one that runs when left out",
    )


class OwnSeasonViewSet(ActorViewSet):
    """A person's own sits, sightings and deer of a season."""

    tag = "reports"
    own_only = ("list", "html", "table")
    for_persons = True
    pagination_class = None
    filter_backends = []
    serializer_class = SeasonQuerySerializer

    @extend_schema(parameters=[SeasonQuerySerializer], responses=OpenApiTypes.OBJECT)
    def list(self, request: Request) -> Response:
        """Every figure of your season, with its sources and rules."""
        return Response(of_record(self._figures().as_dict()))

    @extend_schema(
        parameters=[SeasonQuerySerializer], responses={(200, "text/html"): OpenApiTypes.STR}
    )
    @action(detail=False, renderer_classes=[PageRenderer, FastJSONRenderer])
    def html(self, request: Request) -> Response:
        """Your season as a page."""
        return page_answer(write_own_page(self._figures()))

    @extend_schema(
        parameters=[
            SeasonQuerySerializer,
            OpenApiParameter("table", str, OpenApiParameter.PATH, enum=sorted(TABLES)),
        ],
        responses={(200, "text/csv"): OpenApiTypes.STR},
    )
    @action(
        detail=False,
        url_path=r"tables/(?P<table>[a-z_]+)",
        renderer_classes=[TableRenderer, FastJSONRenderer],
    )
    def table(self, request: Request, table: str) -> Response:
        """One table of your season as CSV; cells cannot act as a spreadsheet's formulas."""
        figures = self._figures()
        return csv_answer(TABLES, table, figures.as_dict(), period=f"{figures.season_year}")

    def _figures(self) -> OwnSeason:
        if self.actor.person_id is None:
            raise NotAllowed("A season is a person's own; sign in as one.")
        person = Person.objects.select_related("cooperative").get(id=self.actor.person_id)
        asked = read_query(self, SeasonQuerySerializer)
        year = asked.get("season_year", current_season_year(person.cooperative, self.now))
        return own_season(person=person, season_year=year, now=self.now)
