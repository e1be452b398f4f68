"""Filters on scrapes."""

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers

from coop.api.filters import FilterSet
from properties.land.api import bounding_box
from properties.stands.filters import position
from scrapes.sites import queries
from scrapes.sites.models import Scrape, ScrapeKind


class ScrapeFilter(FilterSet):
    kind = django_filters.MultipleChoiceFilter(choices=ScrapeKind.choices)
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
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
        model = Scrape
        fields = ["property", "kind"]

    def within_box(self, rows: QuerySet[Scrape], _name: str, value: str) -> QuerySet[Scrape]:
        west, south, east, north = bounding_box(value)
        return rows.filter(
            longitude__gte=west, longitude__lte=east, latitude__gte=south, latitude__lte=north
        )

    def later(self, rows: QuerySet[Scrape], _name: str, _value: object) -> QuerySet[Scrape]:
        return rows

    def filter_queryset(self, queryset: QuerySet[Scrape]) -> QuerySet[Scrape]:
        """A place and a distance only mean something together."""
        rows = super().filter_queryset(queryset)
        near, within_m = self.form.cleaned_data["near"], self.form.cleaned_data["within_m"]
        if not near and within_m is None:
            return rows
        if not near or within_m is None:
            missing = "within_m" if near else "near"
            raise serializers.ValidationError({missing: "near and within_m are needed together."})
        lon, lat = position(near)
        return queries.scrapes_within(rows, lon=lon, lat=lat, within_m=float(within_m))
