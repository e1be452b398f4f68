"""Filters by place: inside a box, or so many metres from a place.

For rows with ``longitude`` and ``latitude``, and for those only that the caller may see: the view
narrows the rows before a filter meets them.
"""

import math
from typing import Any, TypeVar

import django_filters
import numpy as np
from django.db.models import Model, QuerySet
from rest_framework import serializers

from coop.api.filters import FilterSet
from properties.land.geodesy import distance_m

Row = TypeVar("Row", bound=Model)


class PlaceFilterSet(FilterSet):
    """What filters of mapped points share."""

    bbox = django_filters.CharFilter(
        method="within_box", help_text="west,south,east,north in degrees"
    )
    near = django_filters.CharFilter(
        method="later", help_text="longitude,latitude in degrees; needs within_m"
    )
    within_m = django_filters.NumberFilter(
        method="later", min_value=0, help_text="metres from near"
    )

    def within_box(self, rows: QuerySet[Any], _name: str, value: str) -> QuerySet[Any]:
        west, south, east, north = bounding_box(value)
        return rows.filter(
            longitude__gte=west, longitude__lte=east, latitude__gte=south, latitude__lte=north
        )

    def later(self, rows: QuerySet[Any], _name: str, _value: object) -> QuerySet[Any]:
        return rows

    def filter_queryset(self, queryset: QuerySet[Any]) -> QuerySet[Any]:
        """A place and a distance only mean something together."""
        rows = super().filter_queryset(queryset)
        near, within_m = self.form.cleaned_data["near"], self.form.cleaned_data["within_m"]
        if not near and within_m is None:
            return rows
        if not near or within_m is None:
            missing = "within_m" if near else "near"
            raise serializers.ValidationError({missing: "near and within_m are needed together."})
        lon, lat = position(near)
        return rows_within(rows, lon=lon, lat=lat, within_m=float(within_m))


def rows_within(rows: QuerySet[Row], *, lon: float, lat: float, within_m: float) -> QuerySet[Row]:
    """Those of ``rows`` at most ``within_m`` metres (geodesic) from a place in degrees."""
    places = list(rows.values_list("pk", "longitude", "latitude"))
    if not places:
        return rows.none()
    keys, longitudes, latitudes = zip(*places, strict=True)
    near = distance_m(lon, lat, np.array(longitudes), np.array(latitudes)) <= within_m
    return rows.filter(pk__in=[key for key, is_near in zip(keys, near, strict=True) if is_near])


def bounding_box(value: str) -> tuple[float, float, float, float]:
    """``west,south,east,north`` as four numbers; raises a 400 that says what is wrong."""
    try:
        west, south, east, north = (float(part) for part in value.split(","))
    except ValueError:
        raise serializers.ValidationError(
            {"bbox": "Must be four numbers: west,south,east,north."}
        ) from None
    if not (-180 <= west <= east <= 180 and -90 <= south <= north <= 90):
        raise serializers.ValidationError(
            {"bbox": "West must not exceed east, nor south north, and all lie on the earth."}
        )
    return west, south, east, north


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
