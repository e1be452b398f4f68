"""Scent put on scrapes, and the effects of refreshes, over HTTP."""

from typing import Any, ClassVar

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import TIME_ZONE, LocalInstantField, VisibleField, with_zones
from coop.api.filters import FilterSet, InstantFilter, KnownParametersFilter
from coop.api.views import ActorViewSet
from properties.land.local_dates import local_date_on
from properties.land.queries import properties_visible_to
from properties.regulations.queries import pictures_seen_until
from scrapes.care import queries, services
from scrapes.care.effect import Effect
from scrapes.care.models import ScentApplication
from scrapes.care.verdicts import plain
from scrapes.sites.queries import scrapes_visible_to

PERMITTED_NOTE = (
    "Only these are permitted by the property's settings, as its manager read the state's rules "
    "and the lease: not legal advice. Local law comes first; see to the makers' instructions."
)


class ScentApplicationSerializer(serializers.ModelSerializer[ScentApplication]):
    scrape = VisibleField(scrapes_visible_to)
    scrape_name = serializers.CharField(source="scrape.name", read_only=True)
    applied_at = LocalInstantField(
        place="scrape__property", required=False, help_text="Now when left out"
    )
    applied_by_name = serializers.CharField(source="applied_by.name", default=None, read_only=True)

    class Meta:
        model = ScentApplication
        fields = [
            "id",
            "scrape",
            "scrape_name",
            "applied_at",
            "applied_by",
            "applied_by_name",
            "substance",
            "scent",
            "notes",
            "created_at",
        ]
        read_only_fields = ["id", "applied_by", "created_at"]
        extra_kwargs: ClassVar = {
            "scent": {"help_text": "The name of the scent, or of the feed or minerals"},
            "substance": {"help_text": "scent when left out; feed or minerals put out there"},
        }


class PropertyAskedSerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)


class PermittedScentsSerializer(serializers.Serializer[Any]):
    property = serializers.UUIDField()
    scents = serializers.ListField(child=serializers.CharField())
    note = serializers.CharField()


class ScentApplicationFilter(FilterSet):
    property = django_filters.UUIDFilter(field_name="scrape__property_id")
    since = InstantFilter(field_name="applied_at", lookup_expr="gte")
    until = InstantFilter(field_name="applied_at", lookup_expr="lt")

    class Meta:
        model = ScentApplication
        fields = ["scrape"]


class AskingViewSet(ActorViewSet):
    """Reads the property a question is about from the query."""

    def _land(self) -> Any:
        serializer = PropertyAskedSerializer(
            data=self.request.query_params, context=self.get_serializer_context()
        )
        serializer.is_valid(raise_exception=True)
        land = serializer.validated_data["property"]
        self.actor.require(self.needed, land.id)
        return land


class ScentApplicationViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, AskingViewSet):
    """Scent put on scrapes; only what a property permits is recorded."""

    tag = "scrapes"
    needs = {
        "list": Action.SCRAPE_READ,
        "retrieve": Action.SCRAPE_READ,
        "create": Action.SCENT_WRITE,
        "permitted": Action.SCRAPE_READ,
    }
    serializer_class = ScentApplicationSerializer
    filterset_class = ScentApplicationFilter
    page_order = ("-applied_at", "-id")

    def get_queryset(self) -> QuerySet[ScentApplication]:
        found = queries.applications_visible_to(actor=self.actor)
        return with_zones(found.select_related("scrape", "applied_by"), "scrape__property")

    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(self.find(self.get_queryset(), pk))

    @extend_schema(
        examples=[
            OpenApiExample(
                "A refresh",
                value={
                    "scrape": "0193a1c2-0000-7000-8000-000000000001",
                    "scent": "synthetic forehead gland",
                    "notes": "A few drops on the branch.",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Record scent put on a scrape; what the property does not permit is refused (409)."""
        fields = self.read(ScentApplicationSerializer)
        application = services.apply_scent(actor=self.actor, now=self.now, **fields)
        return self.answer(
            application, status=201, location=f"/api/v1/scent-applications/{application.id}/"
        )

    @extend_schema(parameters=[PropertyAskedSerializer], responses=PermittedScentsSerializer)
    @action(
        detail=False,
        filter_backends=[KnownParametersFilter],
        filterset_class=None,
        pagination_class=None,
    )
    def permitted(self, request: Request) -> Response:
        """Which scents may be applied on a property today; nothing else is offered."""
        land = self._land()
        scents = list(services.permitted_scents_on(land, on=local_date_on(land, self.now)))
        return Response({"property": land.id, "scents": scents, "note": PERMITTED_NOTE})


class EffectSerializer(serializers.Serializer[Effect]):
    """Rate after over rate before, in the season's measure; null where nothing can be said."""

    change = serializers.CharField()
    ratio = serializers.FloatField(allow_null=True)
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)
    confidence = serializers.FloatField()
    against_others = serializers.BooleanField(
        help_text="Set against scrapes not refreshed in the same time"
    )
    refreshes = serializers.IntegerField()
    sentence = serializers.CharField()

    def to_representation(self, effect: Effect) -> dict[str, Any]:
        return dict(plain(effect))


class RefreshEffectSerializer(serializers.Serializer[Any]):
    application = ScentApplicationSerializer()
    effect = EffectSerializer()


class ScentEffectSerializer(serializers.Serializer[Any]):
    scent = serializers.CharField()
    effect = EffectSerializer()


class RefreshEffectsSerializer(serializers.Serializer[Any]):
    property = serializers.UUIDField()
    refreshes = RefreshEffectSerializer(many=True)
    by_scent = ScentEffectSerializer(many=True)
    together = EffectSerializer()


class ScentEffectViewSet(AskingViewSet):
    """Did refreshes change the visits? Counted before and after; no cause is claimed."""

    tag = "scrapes"
    needs = {"list": Action.VISIT_READ}
    serializer_class = RefreshEffectsSerializer
    pagination_class = None
    filter_backends = [KnownParametersFilter]
    extra_parameters = ("property",)

    def get_queryset(self) -> QuerySet[ScentApplication]:
        return queries.applications_visible_to(actor=self.actor, action=Action.VISIT_READ)

    @extend_schema(parameters=[PropertyAskedSerializer], responses=RefreshEffectsSerializer)
    def list(self, request: Request) -> Response:
        """Effects of a property's refreshes: each, by kind of scent, and all together."""
        self.filter_queryset(self.get_queryset())
        land = self._land()
        seen = pictures_seen_until(actor=self.actor, land=land, now=self.now)
        found = queries.refresh_effects(land, now=seen)
        body = {
            "property": land.id,
            "refreshes": found.refreshes,
            "by_scent": [
                {"scent": scent, "effect": effect} for scent, effect in found.by_scent.items()
            ],
            "together": found.together,
        }
        context = {**self.get_serializer_context(), TIME_ZONE: land.time_zone}
        return Response(RefreshEffectsSerializer(body, context=context).data)
