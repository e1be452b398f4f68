"""Seasons over HTTP."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.views import DetailViewSet
from properties.land.queries import properties_visible_to
from properties.sessions import queries, services
from properties.sessions.confirmation import NOTICE
from properties.sessions.models import Season
from properties.sessions.seasons import DeerClass
from properties.sessions.weapons import Weapon


class SeasonSerializer(serializers.ModelSerializer[Season]):
    property = VisibleField(properties_visible_to)
    weapons = serializers.ListField(
        child=serializers.ChoiceField(choices=[(weapon.value, weapon.value) for weapon in Weapon]),
        help_text="Weapons that this property's settings allow in these dates",
    )
    classes = serializers.ListField(
        child=serializers.ChoiceField(choices=[(one.value, one.value) for one in DeerClass]),
        required=False,
        help_text="Classes of deer that may be taken; empty: nothing is said",
    )
    youth_only = serializers.BooleanField(
        required=False, help_text="Days for young hunters alone, and whoever supervises them"
    )
    source_url = serializers.URLField(help_text="The state's page that the manager read: required")
    is_unconfirmed = serializers.SerializerMethodField(
        help_text="More than a year has passed since somebody entered or confirmed it, or no page "
        "is named"
    )
    notice = serializers.SerializerMethodField(help_text="What these dates are, and are not")

    class Meta:
        model = Season
        fields = [
            "id",
            "property",
            "name",
            "first_on",
            "last_on",
            "weapons",
            "classes",
            "youth_only",
            "source_url",
            "entered_by",
            "entered_at",
            "confirmed_by",
            "confirmed_at",
            "is_unconfirmed",
            "notice",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = [
            "id",
            "entered_by",
            "entered_at",
            "confirmed_by",
            "confirmed_at",
            "version",
            "created_at",
            "updated_at",
        ]

    def get_notice(self, _season: Season) -> str:
        return NOTICE

    def get_is_unconfirmed(self, season: Season) -> bool:
        return queries.is_season_unconfirmed(season, now=timezone.now())


class SeasonChangeSerializer(SeasonSerializer):
    """A season stays on its property."""

    property = VisibleField(properties_visible_to, read_only=True)


class SeasonFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="property_id")
    on = django_filters.DateFilter(method="covering", help_text="open on this local date")

    class Meta:
        model = Season
        fields: list[str] = []

    def covering(self, rows: QuerySet[Season], _name: str, value: Any) -> QuerySet[Season]:
        return rows.filter(first_on__lte=value, last_on__gte=value)


class SeasonViewSet(mixins.ListModelMixin, DetailViewSet):
    """Dates in which a property offers sits, as its manager entered them."""

    tag = "sessions"
    needs = {
        "list": Action.SEASON_READ,
        "retrieve": Action.SEASON_READ,
        "create": Action.SEASON_WRITE,
        "partial_update": Action.SEASON_WRITE,
        "destroy": Action.SEASON_WRITE,
        "confirm": Action.SEASON_WRITE,
    }
    serializer_class = SeasonSerializer
    filterset_class = SeasonFilter
    search_fields = ["name"]

    def get_queryset(self) -> QuerySet[Season]:
        return queries.seasons_visible_to(actor=self.actor).select_related("property")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A bow season",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "name": "Bow",
                    "first_on": "2025-09-13",
                    "last_on": "2026-01-04",
                    "weapons": ["bow", "crossbow"],
                    "source_url": "https://state.example/regulations",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Enter a season of a property (managers)."""
        fields = self.read(SeasonSerializer)
        season = services.create_season(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(season, status=201, location=f"/api/v1/seasons/{season.id}/")

    @extend_schema(request=SeasonChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a season (managers; `If-Match` needed)."""
        season = self.find(self.get_queryset(), pk)
        changes = self.read(SeasonChangeSerializer, partial=True)
        return self.answer_edit(
            season,
            lambda locked: services.change_season(
                actor=self.actor, season=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def confirm(self, request: Request, pk: str) -> Response:
        """You read the state's page again, and the season stands as it is (managers)."""
        season = self.find(self.get_queryset(), pk)
        return self.answer(services.confirm_season(actor=self.actor, season=season, now=self.now))

    @extend_schema(responses={204: None})
    def destroy(self, request: Request, pk: str) -> Response:
        """Take a season out; the audit record keeps what it said (managers)."""
        season = self.find(self.get_queryset(), pk)
        services.delete_season(actor=self.actor, season=season, now=self.now)
        return Response(status=204)
