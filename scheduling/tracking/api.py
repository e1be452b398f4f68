"""A deer hit and not found, over HTTP: opened from a sit, changed, ended with an outcome."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.preconditions import edit_matched
from coop.api.views import DetailViewSet
from scheduling.tracking import queries, services
from scheduling.tracking.closed_ground import standing_closures
from scheduling.tracking.models import Outcome, Tracking
from scheduling.tracking.serializers import (
    CountedSerializer,
    EndTrackingSerializer,
    NewTrackingSerializer,
    TrackingChangeSerializer,
    TrackingSerializer,
    counted_of,
)


class TrackingFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="property_id")
    open = django_filters.BooleanFilter(field_name="ended_at", lookup_expr="isnull")

    class Meta:
        model = Tracking
        fields: list[str] = []


class TrackingViewSet(mixins.ListModelMixin, DetailViewSet):
    """Deer that were hit and are being looked for, on the properties that you belong to.

    The advice is the property's own, by common practice. It is no rule of law, and nothing in
    it says that following a deer is safe or lawful.
    """

    tag = "tracking"
    needs = {
        "list": Action.TRACKING_READ,
        "retrieve": Action.TRACKING_READ,
        "create": Action.TRACKING_JOIN,
        "partial_update": Action.TRACKING_JOIN,
        "end": Action.TRACKING_JOIN,
        "counted": Action.TRACKING_READ,
    }
    serializer_class = TrackingSerializer
    filterset_class = TrackingFilter
    page_order = ("-opened_at", "-id")

    def get_queryset(self) -> QuerySet[Tracking]:
        return _with_people(self.actor)

    @extend_schema(
        request=NewTrackingSerializer,
        responses={201: TrackingSerializer},
        examples=[
            OpenApiExample(
                "Last seen at the creek",
                value={
                    "sit": "0193a1c2-0000-7000-8000-000000000009",
                    "hit_at": "2025-11-08T16:52:00-06:00",
                    "longitude": -91.49,
                    "latitude": 43.2,
                    "hit_kind": "liver",
                    "harvest_class": "antlerless",
                    "remarks": "Crossed the creek, walking.",
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Say that a deer was hit from your sit and not found; hunters near it are told at once."""
        fields = self.read(NewTrackingSerializer)
        tracking = services.open_tracking(
            actor=self.actor, sit=fields.pop("sit"), fields=fields, now=self.now
        )
        return self._answer(tracking, status=201, location=f"/api/v1/trackings/{tracking.id}/")

    @extend_schema(request=TrackingChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Say where it was last seen now (hunter, managers; `If-Match` needed)."""
        tracking = self.find(self.get_queryset(), pk)
        changes = self.read(TrackingChangeSerializer, partial=True)
        edit_matched(
            request=request,
            row=tracking,
            edit=lambda _row: services.change_tracking(
                actor=self.actor, tracking=services.locked(tracking), changes=changes, now=self.now
            ),
        )
        return self._answer(tracking)

    @extend_schema(
        request=EndTrackingSerializer,
        examples=[
            OpenApiExample("Not found", value={"outcome": "not_found"}, request_only=True),
            OpenApiExample(
                "Recovered",
                value={"outcome": "recovered", "deer": {"dressed_weight_kg": 48}},
                request_only=True,
            ),
        ],
    )
    @action(detail=True, methods=["post"])
    def end(self, request: Request, pk: str) -> Response:
        """Say what came of it (hunter, managers). Whoever is still on foot is asked after."""
        tracking = self.find(self.get_queryset(), pk)
        fields = self.read(EndTrackingSerializer)
        services.end_tracking(
            actor=self.actor,
            tracking=tracking,
            outcome=Outcome(fields["outcome"]),
            remarks=fields["remarks"],
            deer=fields.get("deer", {}),
            now=self.now,
        )
        return self._answer(tracking)

    @extend_schema(responses=CountedSerializer)
    @action(detail=True)
    def counted(self, request: Request, pk: str) -> Response:
        """What counts for the hunter this season's year: to themselves and the managers."""
        tracking = self.find(self.get_queryset(), pk)
        services.require_in_charge(self.actor, tracking)
        return Response(CountedSerializer(counted_of(tracking)).data)

    def _answer(self, tracking: Tracking, **more: Any) -> Response:
        return self.answer(self.get_queryset().get(id=tracking.id), **more)


def _with_people(actor: Actor) -> QuerySet[Tracking]:
    return (
        queries.trackings_visible_to(actor=actor)
        .select_related("property__cooperative", "hunter", "sit")
        .prefetch_related("trackers__person", standing_closures("property__closures"))
    )
