"""Monthly reports over HTTP."""

from typing import Any

import django_filters
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
from coop.reports import month_job, queries
from coop.reports.models import MonthlyReport
from coop.reports.page_headers import paper_headers
from coop.reports.periods import month_of, period_of
from coop.reports.renderers import csv_answer, page_answer
from coop.reports.tables import TABLES, by_the_clock_there, of_record
from properties.land.models import Property
from properties.land.queries import properties_visible_to

# The groups of settings that the landowner's page itself rests on.
PAGE_SETTINGS = ("reports", "sits")


class MonthField(serializers.CharField):
    """A month as ``2025-10``; internally its first day."""

    def to_internal_value(self, data: Any) -> Any:
        try:
            return month_of(super().to_internal_value(data))
        except ValueError as problem:
            raise serializers.ValidationError(str(problem)) from problem

    def to_representation(self, value: Any) -> str:
        return f"{value:%Y-%m}"


class MonthlyReportSerializer(serializers.ModelSerializer[MonthlyReport]):
    month = MonthField(help_text="As 2025-10")
    has_pdf = serializers.SerializerMethodField()

    class Meta:
        model = MonthlyReport
        fields = [
            "id",
            "property",
            "month",
            "edition",
            "changes",
            "data_cut_off_at",
            "digest",
            "has_pdf",
            "pdf_missing_reason",
            "created_at",
        ]
        read_only_fields = fields

    def get_has_pdf(self, report: MonthlyReport) -> bool:
        return not report.pdf_missing_reason


class MonthToWriteSerializer(serializers.Serializer[dict[str, Any]]):
    property = VisibleField(properties_visible_to)
    month = MonthField(help_text="As 2025-10")


class MonthlyReportFilter(FilterSet):
    month = django_filters.CharFilter(method="of_month", help_text="As 2025-10")

    class Meta:
        model = MonthlyReport
        fields = ["property", "edition"]

    def of_month(
        self, rows: QuerySet[MonthlyReport], _name: str, value: str
    ) -> QuerySet[MonthlyReport]:
        try:
            return rows.filter(month=month_of(value))
        except ValueError as problem:
            raise serializers.ValidationError({"month": str(problem)}) from problem


class MonthlyReportViewSet(mixins.ListModelMixin, DetailViewSet):
    """The landowner's months: every stored edition, its figures, pages and tables."""

    tag = "reports"
    needs = {
        "list": Action.REPORT_READ,
        "retrieve": Action.REPORT_READ,
        "create": Action.REPORT_WRITE,
        "figures": Action.REPORT_READ,
        "html": Action.REPORT_READ,
        "pdf": Action.REPORT_READ,
        "appendix": Action.REPORT_APPENDIX,
        "table": Action.REPORT_READ,
    }
    serializer_class = MonthlyReportSerializer
    filterset_class = MonthlyReportFilter
    page_order = ("-month", "-edition", "-id")

    def get_queryset(self) -> QuerySet[MonthlyReport]:
        return queries.reports_visible_to(actor=self.actor)

    @extend_schema(
        request=MonthToWriteSerializer,
        responses={202: StartedJobSerializer},
        examples=[
            OpenApiExample(
                "One month",
                value={"property": "0193a1c2-0000-7000-8000-000000000001", "month": "2025-10"},
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Start writing a month; an edition that still holds is kept, a correction adds one."""
        fields = self.read(MonthToWriteSerializer)
        land: Property = fields["property"]
        self.actor.require(self.needed, land.id)
        if period_of(fields["month"], land.time_zone).starts_at > self.now:
            raise serializers.ValidationError(
                {"month": "This month has not begun on the property."}
            )
        run = jobs.enqueue(
            name=month_job.NAME,
            now=self.now,
            scope=str(land.id),
            property_id=land.id,
            parameters={"property": str(land.id), "month": f"{fields['month']:%Y-%m}"},
            requested_by_id=self._account_id(),
        )
        return started(run)

    @extend_schema(responses=OpenApiTypes.OBJECT)
    @action(detail=True)
    def figures(self, request: Request, pk: str) -> Response:
        """Every figure of the pages; the appendix's only for those who may read it."""
        report = self.find(self.get_queryset(), pk)
        return Response(self._figures_for_caller(report))

    @extend_schema(responses={(200, "text/html"): OpenApiTypes.STR})
    @action(detail=True, renderer_classes=[PageRenderer, FastJSONRenderer])
    def html(self, request: Request, pk: str) -> Response:
        """The landowner's page."""
        report = self.find(self.get_queryset().defer(None).only("html"), pk)
        return page_answer(report.html)

    @extend_schema(responses={(200, "application/pdf"): OpenApiTypes.BINARY})
    @action(detail=True, renderer_classes=[PaperRenderer, FastJSONRenderer])
    def pdf(self, request: Request, pk: str) -> Response:
        """The landowner's page on paper; 404 says why where no PDF could be made."""
        report = self.find(self.get_queryset().defer(None).defer("html", "appendix_html"), pk)
        if report.pdf is None:
            raise NotFound(report.pdf_missing_reason or "This edition has no PDF.")
        return Response(
            bytes(report.pdf), content_type="application/pdf", headers=paper_headers(report)
        )

    @extend_schema(responses={(200, "text/html"): OpenApiTypes.STR})
    @action(detail=True, renderer_classes=[PageRenderer, FastJSONRenderer])
    def appendix(self, request: Request, pk: str) -> Response:
        """Visits against expected and wind, for managers."""
        rows = self.get_queryset().defer(None).only("property", "appendix_html")
        report = self.find(rows, pk)
        self.actor.require(self.needed, report.property_id)
        return page_answer(report.appendix_html)

    @extend_schema(
        parameters=[
            OpenApiParameter("table", str, OpenApiParameter.PATH, enum=sorted(TABLES)),
        ],
        responses={(200, "text/csv"): OpenApiTypes.STR},
    )
    @action(
        detail=True,
        url_path=r"tables/(?P<table>[a-z_]+)",
        renderer_classes=[TableRenderer, FastJSONRenderer],
    )
    def table(self, request: Request, pk: str, table: str) -> Response:
        """One table of the report as CSV; cells cannot act as a spreadsheet's formulas."""
        report = self.find(self.get_queryset(), pk)
        if table in TABLES and TABLES[table].for_managers:
            self.actor.require(Action.REPORT_APPENDIX, report.property_id)
        return csv_answer(TABLES, table, report.figures, period=f"{report.month:%Y-%m}")

    def _figures_for_caller(self, report: MonthlyReport) -> dict[str, Any]:
        figures = of_record(by_the_clock_there(report.figures))
        if not self.actor.may(Action.REPORT_APPENDIX, report.property_id):
            del figures["appendix"]
            used = figures["settings_used"]
            figures["settings_used"] = {group: used[group] for group in PAGE_SETTINGS}
        return figures

    def _account_id(self) -> Any:
        user = self.request.user
        return user.pk if user is not None and user.is_authenticated else None
