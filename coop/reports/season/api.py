"""Season reports over HTTP: for a cooperative's coordinators."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import FilterSet
from coop.api.problems import NotFound
from coop.api.rendering import FastJSONRenderer, PageRenderer, PaperRenderer, TableRenderer
from coop.api.views import DetailViewSet
from coop.jobs import services as jobs
from coop.jobs.api import StartedJobSerializer, started
from coop.reports.models import SeasonReport
from coop.reports.page_headers import headers_of_paper
from coop.reports.renderers import csv_answer, page_answer
from coop.reports.season import job, queries
from coop.reports.season.services import season_begins
from coop.reports.season.tables import TABLES
from coop.reports.tables import of_record
from properties.land.models import Cooperative


class SeasonReportSerializer(serializers.ModelSerializer[SeasonReport]):
    has_pdf = serializers.SerializerMethodField()

    class Meta:
        model = SeasonReport
        fields = [
            "id",
            "cooperative",
            "season_year",
            "edition",
            "changes",
            "data_cut_off_at",
            "digest",
            "has_pdf",
            "pdf_missing_reason",
            "created_at",
        ]
        read_only_fields = fields

    def get_has_pdf(self, report: SeasonReport) -> bool:
        return not report.pdf_missing_reason


class SeasonToWriteSerializer(serializers.Serializer[dict[str, Any]]):
    cooperative = VisibleField(queries.readable_cooperatives)
    season_year = serializers.IntegerField(
        min_value=1990, max_value=2200, help_text="The year in which the season's year began"
    )


class SeasonReportFilter(FilterSet):
    class Meta:
        model = SeasonReport
        fields = ["cooperative", "season_year", "edition"]


class SeasonReportViewSet(mixins.ListModelMixin, DetailViewSet):
    """A cooperative's seasons: every stored edition, its figures, pages and tables.

    Members are counted and never named.
    """

    tag = "reports"
    needs = {
        "list": Action.SEASON_REPORT_READ,
        "retrieve": Action.SEASON_REPORT_READ,
        "create": Action.SEASON_REPORT_WRITE,
        "figures": Action.SEASON_REPORT_READ,
        "html": Action.SEASON_REPORT_READ,
        "pdf": Action.SEASON_REPORT_READ,
        "table": Action.SEASON_REPORT_READ,
    }
    serializer_class = SeasonReportSerializer
    filterset_class = SeasonReportFilter
    page_order = ("-season_year", "-edition", "-id")

    def get_queryset(self) -> QuerySet[SeasonReport]:
        return queries.season_reports_visible_to(actor=self.actor)

    @extend_schema(
        request=SeasonToWriteSerializer,
        responses={202: StartedJobSerializer},
        examples=[
            OpenApiExample(
                "One season",
                value={
                    "cooperative": "0193a1c2-0000-7000-8000-000000000001",
                    "season_year": 2025,
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Start writing a season; an edition that still holds is kept, a correction adds one."""
        fields = self.read(SeasonToWriteSerializer)
        cooperative: Cooperative = fields["cooperative"]
        self.actor.require_in_cooperative(self.needed, cooperative.id)
        if season_begins(cooperative, fields["season_year"]) > self.now.date():
            raise serializers.ValidationError({"season_year": "This season has not begun."})
        run = jobs.enqueue(
            name=job.NAME,
            now=self.now,
            scope=str(cooperative.id),
            parameters={
                "cooperative": str(cooperative.id),
                "season_year": fields["season_year"],
            },
            requested_by_id=self.request.user.pk,
        )
        return started(run)

    @extend_schema(responses=OpenApiTypes.OBJECT)
    @action(detail=True)
    def figures(self, request: Request, pk: str) -> Response:
        """Every figure of the page."""
        return Response(of_record(self.find(self.get_queryset(), pk).figures))

    @extend_schema(responses={(200, "text/html"): OpenApiTypes.STR})
    @action(detail=True, renderer_classes=[PageRenderer, FastJSONRenderer])
    def html(self, request: Request, pk: str) -> Response:
        """The season's page."""
        return page_answer(self.find(self.get_queryset().defer(None).only("html"), pk).html)

    @extend_schema(responses={(200, "application/pdf"): OpenApiTypes.BINARY})
    @action(detail=True, renderer_classes=[PaperRenderer, FastJSONRenderer])
    def pdf(self, request: Request, pk: str) -> Response:
        """The season on paper; 404 says why where no PDF could be made."""
        report = self.find(self.get_queryset().defer(None).defer("html"), pk)
        if report.pdf is None:
            raise NotFound(report.pdf_missing_reason or "This edition has no PDF.")
        name = f"season-{report.season_year}-edition-{report.edition}.pdf"
        return Response(
            bytes(report.pdf), content_type="application/pdf", headers=headers_of_paper(name)
        )

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
        """One table of the season as CSV; cells cannot act as a spreadsheet's formulas."""
        report = self.find(self.get_queryset(), pk)
        return csv_answer(TABLES, table, report.figures, period=f"{report.season_year}")
