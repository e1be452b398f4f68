"""Sit reports over HTTP."""

import django_filters
from django.db.models import QuerySet
from rest_framework import mixins

from coop.access.roles import Action
from coop.api.views import DetailViewSet
from scheduling.sits import queries
from scheduling.sits.models import SitReport
from scheduling.sits.report_serializers import SitReportSerializer


class SitReportFilter(django_filters.FilterSet):
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
    needs = {"list": Action.SIT_READ, "retrieve": Action.SIT_READ}
    serializer_class = SitReportSerializer
    filterset_class = SitReportFilter
    page_order = ("-reported_at", "-id")

    def get_queryset(self) -> QuerySet[SitReport]:
        sits = queries.sits_visible_to(actor=self.actor)
        return SitReport.objects.filter(sit__in=sits).prefetch_related("sightings", "alarms")
