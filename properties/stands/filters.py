"""Filters on stands; places are compared with what the caller may see."""

from typing import Any

import django_filters
from django.db.models import QuerySet

from coop.api.filters import IdsFilter
from properties.land.place_filters import PlaceFilterSet
from properties.stands.models import Inspection, Stand, StandExclusion, StandKind


class StandFilter(PlaceFilterSet):
    ids = IdsFilter()
    property = django_filters.UUIDFilter(field_name="property_id")
    kind = django_filters.MultipleChoiceFilter(choices=StandKind.choices)
    open = django_filters.BooleanFilter(field_name="is_open")
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
    )
    inspected_before = django_filters.DateFilter(
        method="not_inspected_since", help_text="last inspected before this date, or never"
    )

    class Meta:
        model = Stand
        fields = ["kind"]

    def not_inspected_since(self, rows: QuerySet[Stand], _name: str, value: Any) -> QuerySet[Stand]:
        return rows.exclude(last_inspected_on__gte=value)


class InspectionFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="stand__property_id")
    stand = django_filters.UUIDFilter(field_name="stand_id")

    class Meta:
        model = Inspection
        fields = ["passed"]


class StandExclusionFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(
        method="on_property", help_text="either stand is on this property"
    )

    class Meta:
        model = StandExclusion
        fields: list[str] = []

    def on_property(
        self, rows: QuerySet[StandExclusion], _name: str, value: Any
    ) -> QuerySet[StandExclusion]:
        return rows.filter(first__property=value) | rows.filter(second__property=value)
