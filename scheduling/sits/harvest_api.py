"""Deer taken over HTTP."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.asking import read_query
from coop.api.fields import VisibleField
from coop.api.filters import FilterSet, InstantFilter
from coop.api.rendering import FastJSONRenderer, TableRenderer
from coop.api.views import DetailViewSet
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.land.year_fields import SeasonYearField
from scheduling.sits import harvest_services, queries
from scheduling.sits.harvest_export import harvest_csv
from scheduling.sits.harvest_serializers import HarvestChangeSerializer, HarvestSerializer
from scheduling.sits.harvest_years import season_year_of
from scheduling.sits.models import DeerSex, Harvest, HarvestClass


class HarvestExportQuerySerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    season_year = SeasonYearField(required=False, help_text="The present one when left out")


class HarvestFilter(FilterSet):
    property = django_filters.UUIDFilter(field_name="property_id")
    harvest_class = django_filters.ChoiceFilter(choices=HarvestClass.choices)
    sex = django_filters.ChoiceFilter(choices=DeerSex.choices)
    since = InstantFilter(field_name="taken_at", lookup_expr="gte")
    until = InstantFilter(field_name="taken_at", lookup_expr="lt")

    class Meta:
        model = Harvest
        fields: list[str] = []


class HarvestViewSet(mixins.ListModelMixin, DetailViewSet):
    """Deer taken on a property. They are corrected, never deleted; nothing over plan is hidden."""

    tag = "harvest"
    needs = {
        "list": Action.HARVEST_READ,
        "retrieve": Action.HARVEST_READ,
        "create": Action.SIT_BOOK,
        "partial_update": Action.SIT_BOOK,
        "export": Action.HARVEST_EXPORT,
    }
    serializer_class = HarvestSerializer
    filterset_class = HarvestFilter
    page_order = ("-taken_at", "-id")

    def get_queryset(self) -> QuerySet[Harvest]:
        return queries.harvests_visible_to(actor=self.actor).select_related(
            "person", "property__cooperative"
        )

    @extend_schema(
        examples=[
            OpenApiExample(
                "A doe",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "harvest_class": "antlerless",
                    "taken_at": "2025-11-08T16:55:00-06:00",
                    "sex": "doe",
                    "age_years": 2.5,
                    "age_method": "tooth_wear",
                    "dressed_weight_kg": 48,
                    "lactating": True,
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Record a deer; over the plan it is recorded all the same, and the manager is told."""
        fields = self.read(HarvestSerializer)
        harvest = harvest_services.record_harvest(
            actor=self.actor,
            land=fields.pop("property"),
            person=fields.pop("person", None),
            sit=fields.pop("sit", None),
            fields=fields,
            now=self.now,
        )
        return self.answer(harvest, status=201, location=f"/api/v1/harvests/{harvest.id}/")

    @extend_schema(request=HarvestChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Correct a record of one's own, or as a manager (`If-Match` needed)."""
        harvest = self.find(self.get_queryset(), pk)
        changes = self.read(HarvestChangeSerializer, partial=True)
        return self.answer_edit(
            harvest,
            lambda locked: harvest_services.change_harvest(
                actor=self.actor, harvest=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(
        parameters=[HarvestExportQuerySerializer], responses={(200, "text/csv"): OpenApiTypes.STR}
    )
    @action(detail=False, renderer_classes=[FastJSONRenderer, TableRenderer])
    def export(self, request: Request) -> HttpResponse:
        """Deer by deer of a season's year as a table, with places and numbers (managers)."""
        asked = read_query(self, HarvestExportQuerySerializer)
        land: Property = asked["property"]
        self.actor.require(self.needed, land.id)
        year = asked.get("season_year", season_year_of(self.now, land))
        return HttpResponse(
            harvest_csv(land, year),
            content_type="text/csv; charset=utf-8",
            headers={"Content-Disposition": f'attachment; filename="harvest-{year}.csv"'},
        )
