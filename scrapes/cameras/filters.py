"""Filters on cameras and what they saw; references are ids alone, so none can be probed."""

from datetime import datetime
from uuid import UUID

import django_filters
from django.db.models import QuerySet

from coop.api.filters import FilterSet, InstantFilter
from scrapes.cameras.models import (
    CameraStatus,
    CameraUnit,
    Deployment,
    Observation,
    ObservationImport,
    ObservationKind,
    ObservationSource,
    Outage,
    OutageKind,
)


class CameraFilter(FilterSet):
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
    )
    hanging_at = django_filters.UUIDFilter(
        method="hanging", help_text="cameras that hang at this scrape and were not taken down"
    )

    class Meta:
        model = CameraUnit
        fields = ["property", "transmits"]

    def hanging(self, rows: QuerySet[CameraUnit], _name: str, value: UUID) -> QuerySet[CameraUnit]:
        return rows.filter(
            id__in=Deployment.objects.filter(scrape_id=value, ends_at=None).values("camera_id")
        )


class DeploymentFilter(FilterSet):
    property = django_filters.UUIDFilter(field_name="camera__property_id")
    hanging = django_filters.BooleanFilter(field_name="ends_at", lookup_expr="isnull")
    since = InstantFilter(
        method="ends_after", help_text="hung at or after this instant, if only for a while"
    )
    until = InstantFilter(field_name="starts_at", lookup_expr="lt")

    class Meta:
        model = Deployment
        fields = ["camera", "scrape", "code"]

    def ends_after(
        self, rows: QuerySet[Deployment], _name: str, value: datetime
    ) -> QuerySet[Deployment]:
        return rows.exclude(ends_at__lte=value)


class OutageFilter(FilterSet):
    property = django_filters.UUIDFilter(field_name="deployment__camera__property_id")
    camera = django_filters.UUIDFilter(field_name="deployment__camera_id")
    kind = django_filters.MultipleChoiceFilter(choices=OutageKind.choices)
    ended = django_filters.BooleanFilter(field_name="ends_at", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Outage
        fields = ["deployment", "kind"]


class CameraStatusFilter(FilterSet):
    property = django_filters.UUIDFilter(field_name="camera__property_id")
    since = InstantFilter(field_name="reported_at", lookup_expr="gte")
    until = InstantFilter(field_name="reported_at", lookup_expr="lt")

    class Meta:
        model = CameraStatus
        fields = ["camera", "card_pulled"]


class ObservationFilter(FilterSet):
    property = django_filters.UUIDFilter(field_name="deployment__scrape__property_id")
    scrape = django_filters.UUIDFilter(field_name="deployment__scrape_id")
    kind = django_filters.MultipleChoiceFilter(choices=ObservationKind.choices)
    species = django_filters.CharFilter(field_name="species", lookup_expr="iexact")
    since = InstantFilter(field_name="observed_at", lookup_expr="gte")
    until = InstantFilter(field_name="observed_at", lookup_expr="lt")

    class Meta:
        model = Observation
        fields = ["deployment", "kind"]


class ObservationImportFilter(FilterSet):
    class Meta:
        model = ObservationImport
        fields = ["property", "source"]


class ObservationSourceFilter(FilterSet):
    class Meta:
        model = ObservationSource
        fields = ["property", "name"]
