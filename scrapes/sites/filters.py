"""Filters on scrapes."""

import django_filters

from properties.land.place_filters import PlaceFilterSet
from scrapes.sites.models import Scrape, ScrapeKind


class ScrapeFilter(PlaceFilterSet):
    kind = django_filters.MultipleChoiceFilter(choices=ScrapeKind.choices)
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
    )

    class Meta:
        model = Scrape
        fields = ["property", "kind"]
