"""Cooperatives, properties and features over HTTP."""

import django_filters
from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.authentication import ask_roles_anew
from coop.access.roles import Action
from coop.api.filters import FilterSet, refuse_unknown_parameters
from coop.api.views import ActorViewSet, DetailViewSet
from properties.land import queries, services, settings
from properties.land.models import Cooperative, Feature, FeatureKind, Property
from properties.land.place_filters import bounding_box
from properties.land.serializers import (
    CooperativeSerializer,
    FeatureChangeSerializer,
    FeatureSerializer,
    PropertyChangeSerializer,
    PropertySerializer,
    SettingSerializer,
)

SQUARE = {
    "type": "Polygon",
    "coordinates": [
        [[-91.5, 43.2], [-91.49, 43.2], [-91.49, 43.21], [-91.5, 43.21], [-91.5, 43.2]]
    ],
}


class PropertyFilter(FilterSet):
    class Meta:
        model = Property
        fields = ["cooperative", "time_zone"]


class FeatureFilter(FilterSet):
    kind = django_filters.MultipleChoiceFilter(choices=FeatureKind.choices)
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
    )
    bbox = django_filters.CharFilter(
        method="within_box", help_text="west,south,east,north in degrees"
    )

    class Meta:
        model = Feature
        fields = ["property", "kind"]

    def within_box(self, rows: QuerySet[Feature], _name: str, value: str) -> QuerySet[Feature]:
        west, south, east, north = bounding_box(value)
        return rows.filter(west__lte=east, east__gte=west, south__lte=north, north__gte=south)


class CooperativeViewSet(mixins.ListModelMixin, DetailViewSet):
    """Cooperatives and the settings that hold for all their properties."""

    tag = "land"
    needs = {
        "list": Action.COOPERATIVE_READ,
        "retrieve": Action.COOPERATIVE_READ,
        "partial_update": Action.COOPERATIVE_WRITE,
    }
    serializer_class = CooperativeSerializer

    def get_queryset(self) -> QuerySet[Cooperative]:
        return queries.cooperatives_visible_to(actor=self.actor)

    def partial_update(self, request: Request, pk: str) -> Response:
        """Rename the cooperative or change its settings (`If-Match` needed)."""
        cooperative = self.find(self.get_queryset(), pk)
        changes = self.read(CooperativeSerializer, partial=True)
        return self.answer_edit(
            cooperative,
            lambda locked: services.change_cooperative(
                actor=self.actor, cooperative=locked, changes=changes, now=self.now
            ),
        )


class PropertyViewSet(mixins.ListModelMixin, DetailViewSet):
    """Leased tracts: boundary, time zone, settings."""

    tag = "land"
    needs = {
        "list": Action.PROPERTY_READ,
        "retrieve": Action.PROPERTY_READ,
        "create": Action.COOPERATIVE_WRITE,
        "partial_update": Action.PROPERTY_WRITE,
        "settings_in_force": Action.SETTING_READ,
    }
    serializer_class = PropertySerializer
    filterset_class = PropertyFilter
    search_fields = ["name"]

    def get_queryset(self) -> QuerySet[Property]:
        return queries.properties_visible_to(actor=self.actor).select_related("cooperative")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A square",
                value={
                    "cooperative": "0193a1c2-0000-7000-8000-000000000001",
                    "name": "North tract",
                    "time_zone": "America/Chicago",
                    "boundary": SQUARE,
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Add a property to a cooperative (coordinators)."""
        fields = self.read(PropertySerializer)
        land = services.create_property(
            actor=self.actor, cooperative=fields.pop("cooperative"), fields=fields, now=self.now
        )
        ask_roles_anew(request)
        return self.answer(land, status=201, location=f"/api/v1/properties/{land.id}/")

    @extend_schema(request=PropertyChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a property (`If-Match` needed)."""
        land = self.find(self.get_queryset(), pk)
        changes = self.read(PropertyChangeSerializer, partial=True)
        return self.answer_edit(
            land,
            lambda locked: services.change_property(
                actor=self.actor, land=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(responses=OpenApiTypes.OBJECT)
    @action(detail=True, url_path="settings")
    def settings_in_force(self, request: Request, pk: str) -> Response:
        """Every setting as it holds on this property, with the layers laid over the defaults."""
        land = self.find(self.get_queryset(), pk)
        self.actor.require(self.needed, land.id)
        layers = queries.setting_layers(land)
        return Response(
            {
                name: vars(settings.resolve(group, *layers))
                for name, group in settings.registered_groups().items()
            }
        )


class FeatureViewSet(mixins.ListModelMixin, DetailViewSet):
    """What is mapped on a property: bedding, plots, water, corridors, routes, hazards."""

    tag = "land"
    needs = {
        "list": Action.FEATURE_READ,
        "retrieve": Action.FEATURE_READ,
        "create": Action.FEATURE_WRITE,
        "partial_update": Action.FEATURE_WRITE,
        "retire": Action.FEATURE_WRITE,
    }
    serializer_class = FeatureSerializer
    filterset_class = FeatureFilter
    search_fields = ["name", "notes"]

    def get_queryset(self) -> QuerySet[Feature]:
        return queries.features_visible_to(actor=self.actor).select_related("property")

    def create(self, request: Request) -> Response:
        """Map a feature; its geometry must be valid and lie on the property."""
        fields = self.read(FeatureSerializer)
        feature = services.create_feature(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(feature, status=201, location=f"/api/v1/features/{feature.id}/")

    @extend_schema(request=FeatureChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a feature (`If-Match` needed)."""
        feature = self.find(self.get_queryset(), pk)
        changes = self.read(FeatureChangeSerializer, partial=True)
        return self.answer_edit(
            feature,
            lambda locked: services.change_feature(
                actor=self.actor, feature=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Take a feature off the map; it is kept for the record."""
        feature = self.find(self.get_queryset(), pk)
        return self.answer(services.retire_feature(actor=self.actor, feature=feature, now=self.now))


class SettingViewSet(ActorViewSet):
    """What can be set, with defaults, units and bounds."""

    tag = "land"
    needs = {"list": Action.COOPERATIVE_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = SettingSerializer

    @extend_schema(responses=SettingSerializer(many=True))
    def list(self, request: Request) -> Response:
        """Every setting of the software; a cooperative, property or stand may override it."""
        refuse_unknown_parameters(request)
        self.require_somewhere()
        return Response(SettingSerializer(list(settings.describe()), many=True).data)
