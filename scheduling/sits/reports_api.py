"""Sit reports over HTTP."""

import django_filters
from django.db.models import Prefetch, QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import with_zones
from coop.api.filters import FilterSet
from coop.api.views import DetailViewSet
from scheduling.sits import queries, report_services
from scheduling.sits.models import DeerAlarm, SitReport
from scheduling.sits.report_serializers import SitReportSerializer


class SitReportFilter(FilterSet):
    property = django_filters.UUIDFilter(field_name="sit__property_id")
    stand = django_filters.UUIDFilter(field_name="sit__stand_id")
    first_on = django_filters.DateFilter(field_name="sit__local_date", lookup_expr="gte")
    last_on = django_filters.DateFilter(field_name="sit__local_date", lookup_expr="lte")

    class Meta:
        model = SitReport
        fields: list[str] = []


class SitReportViewSet(mixins.ListModelMixin, DetailViewSet):
    """What was reported of the sits that the caller may see."""

    tag = "sits"
    needs = {
        "list": Action.SIT_READ,
        "retrieve": Action.SIT_READ,
        "partial_update": Action.SIT_BOOK,
    }
    serializer_class = SitReportSerializer
    filterset_class = SitReportFilter
    page_order = ("-reported_at", "-id")

    def get_queryset(self) -> QuerySet[SitReport]:
        sits = queries.sits_visible_to(actor=self.actor)
        alarms = with_zones(DeerAlarm.objects.all(), "report__sit__property")
        return SitReport.objects.filter(sit__in=sits).prefetch_related(
            "sightings", Prefetch("alarms", alarms)
        )

    @extend_schema(
        request=SitReportSerializer(partial=True),
        examples=[
            OpenApiExample(
                "Two does were forgotten",
                value={"sightings": [{"sex": "doe", "age_class": "adult", "count": 2}]},
                request_only=True,
            )
        ],
    )
    def partial_update(self, request: Request, pk: str) -> Response:
        """Correct a report of your own, as a manager any (`If-Match` needed).

        `sightings` and `alarms` replace those that stood. Deer taken are corrected under
        harvests. A stand once reported unsafe stays closed until somebody has inspected it.
        """
        report = self.find(self.get_queryset(), pk)
        changes = self.read(SitReportSerializer, partial=True)
        rows = {name: changes.pop(name, None) for name in ("sightings", "alarms")}
        return self.answer_edit(
            report,
            lambda locked: report_services.correct_report(
                actor=self.actor, report=locked, changes=changes, now=self.now, **rows
            ),
        )
