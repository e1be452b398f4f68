"""Filters on stands; places are compared with what the caller may see."""

import math
from typing import Any

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers

from properties.land.api import bounding_box
from properties.stands import queries
from properties.stands.models import Inspection, Stand, StandExclusion, StandKind


class StandFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="property_id")
    kind = django_filters.MultipleChoiceFilter(choices=StandKind.choices)
    open = django_filters.BooleanFilter(field_name="is_open")
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
    )
    inspected_before = django_filters.DateFilter(
        method="not_inspected_since", help_text="last inspected before this date, or never"
    )
    bbox = django_filters.CharFilter(
        method="within_box", help_text="west,south,east,north in degrees"
    )
    near = django_filters.CharFilter(
        method="later", help_text="longitude,latitude in degrees; needs within_m"
    )
    within_m = django_filters.NumberFilter(
        method="later", min_value=0, help_text="metres from near"
    )

    class Meta:
        model = Stand
        fields = ["kind"]

    def not_inspected_since(self, rows: QuerySet[Stand], _name: str, value: Any) -> QuerySet[Stand]:
        return rows.exclude(last_inspected_on__gte=value)

    def within_box(self, rows: QuerySet[Stand], _name: str, value: str) -> QuerySet[Stand]:
        west, south, east, north = bounding_box(value)
        return rows.filter(
            longitude__gte=west, longitude__lte=east, latitude__gte=south, latitude__lte=north
        )

    def later(self, rows: QuerySet[Stand], _name: str, _value: Any) -> QuerySet[Stand]:
        return rows

    def filter_queryset(self, queryset: QuerySet[Stand]) -> QuerySet[Stand]:
        """A place and a distance only mean something together."""
        rows = super().filter_queryset(queryset)
        near, within_m = self.form.cleaned_data["near"], self.form.cleaned_data["within_m"]
        if not near and within_m is None:
            return rows
        if not near or within_m is None:
            missing = "within_m" if near else "near"
            raise serializers.ValidationError({missing: "near and within_m are needed together."})
        lon, lat = position(near)
        return queries.stands_within(rows, lon=lon, lat=lat, within_m=float(within_m))


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


def position(value: str) -> tuple[float, float]:
    """``longitude,latitude`` as two numbers; raises a 400 that says what is wrong."""
    try:
        lon, lat = (float(part) for part in value.split(","))
    except ValueError:
        lon = lat = math.nan
    if not (abs(lon) <= 180 and abs(lat) <= 90):
        raise serializers.ValidationError(
            {"near": "Must be longitude,latitude in degrees, longitude first."}
        )
    return lon, lat
