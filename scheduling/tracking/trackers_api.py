"""Who is on foot, and the neighbours of a property, over HTTP."""

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.views import DetailViewSet
from properties.people.models import Person
from scheduling.tracking import neighbour_services, queries, tracker_services
from scheduling.tracking.closed_ground import standing_closures
from scheduling.tracking.models import Neighbour, Tracker
from scheduling.tracking.serializers import (
    BackLaterSerializer,
    JoinSerializer,
    LandNeighbourChangeSerializer,
    LandNeighbourSerializer,
    TrackerSerializer,
)


class TrackerFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="tracking__property_id")
    tracking = django_filters.UUIDFilter(field_name="tracking_id")
    out = django_filters.BooleanFilter(field_name="left_at", lookup_expr="isnull")

    class Meta:
        model = Tracker
        fields: list[str] = []


class TrackerViewSet(mixins.ListModelMixin, DetailViewSet):
    """Who is on foot where; whoever is not back by the time they told is asked after."""

    tag = "tracking"
    needs = {
        "list": Action.TRACKING_READ,
        "retrieve": Action.TRACKING_READ,
        "create": Action.TRACKING_JOIN,
        "leave": Action.TRACKING_JOIN,
        "back_later": Action.TRACKING_JOIN,
        "acknowledge": Action.TRACKING_JOIN,
    }
    serializer_class = TrackerSerializer
    filterset_class = TrackerFilter
    page_order = ("-joined_at", "-id")

    def get_queryset(self) -> QuerySet[Tracker]:
        return (
            queries.trackers_visible_to(actor=self.actor)
            .select_related("person", "tracking__property", "tracking__hunter")
            .prefetch_related(standing_closures("tracking__property__closures"))
        )

    @extend_schema(
        request=JoinSerializer,
        responses={201: TrackerSerializer},
        examples=[
            OpenApiExample(
                "Along the creek",
                value={
                    "tracking": "0193a1c2-0000-7000-8000-00000000000b",
                    "area": "Creek, from the ford down",
                    "back_by": "2025-11-08T21:00:00-06:00",
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Go out on foot: say where, and by when you will be back.

        You for yourself or your guest; the hunter and managers for others, and for somebody
        from outside by name and number. Closed ground keeps nobody from it; `closed` says what is
        closed, until when and why, and to ask the landowner first.
        """
        fields = self.read(JoinSerializer)
        person = fields.pop("person", None)
        if person is None and "name" not in fields and self.actor.person_id is not None:
            person = Person.objects.get(id=self.actor.person_id)
        tracker = tracker_services.join(
            actor=self.actor,
            tracking=fields.pop("tracking"),
            person=person,
            fields=fields,
            now=self.now,
        )
        return self.answer(tracker, status=201, location=f"/api/v1/trackers/{tracker.id}/")

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def leave(self, request: Request, pk: str) -> Response:
        """Back and off the ground: nobody is asked about them any more."""
        tracker = self.find(self.get_queryset(), pk)
        return self.answer(tracker_services.leave(actor=self.actor, tracker=tracker, now=self.now))

    @extend_schema(
        request=BackLaterSerializer,
        examples=[
            OpenApiExample(
                "By eleven", value={"back_by": "2025-11-08T23:00:00-06:00"}, request_only=True
            )
        ],
    )
    @action(detail=True, methods=["post"], url_path="back-later")
    def back_later(self, request: Request, pk: str) -> Response:
        """Out longer, perhaps elsewhere: a new time, after which they are asked after."""
        tracker = self.find(self.get_queryset(), pk)
        fields = self.read(BackLaterSerializer)
        return self.answer(
            tracker_services.be_back_later(
                actor=self.actor, tracker=tracker, now=self.now, **fields
            )
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def acknowledge(self, request: Request, pk: str) -> Response:
        """Answer an overdue notice: somebody knows, and nobody else is asked (also managers)."""
        tracker = self.find(self.get_queryset(), pk)
        return self.answer(
            tracker_services.acknowledge(actor=self.actor, tracker=tracker, now=self.now)
        )


class NeighbourFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="property_id")
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
    )

    class Meta:
        model = Neighbour
        fields: list[str] = []


class NeighbourViewSet(mixins.ListModelMixin, DetailViewSet):
    """Neighbours and what they allow: to managers, and to who tracks a deer there right now.

    What stands here is what a neighbour once said. Ask again where it says so, and where in
    doubt.
    """

    tag = "tracking"
    needs = {
        "list": Action.TRACKING_READ,
        "retrieve": Action.TRACKING_READ,
        "create": Action.NEIGHBOUR_WRITE,
        "partial_update": Action.NEIGHBOUR_WRITE,
        "retire": Action.NEIGHBOUR_WRITE,
    }
    serializer_class = LandNeighbourSerializer
    filterset_class = NeighbourFilter
    page_order = ("name", "id")

    def get_queryset(self) -> QuerySet[Neighbour]:
        return queries.neighbours_visible_to(actor=self.actor)

    @extend_schema(
        examples=[
            OpenApiExample(
                "Ask before a dog",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "name": "Nell Neighbour",
                    "phone": "555-0142",
                    "ground": "Pasture east of the creek",
                    "may_enter": "yes",
                    "with_dog": "ask_first",
                    "with_weapon": "no",
                    "asked_on": "2025-09-01",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Enter a neighbour and what they allow (managers)."""
        fields = self.read(LandNeighbourSerializer)
        row = neighbour_services.add_neighbour(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(row, status=201, location=f"/api/v1/neighbours/{row.id}/")

    @extend_schema(request=LandNeighbourChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change it (managers; `If-Match` needed)."""
        row = self.find(self.get_queryset(), pk)
        changes = self.read(LandNeighbourChangeSerializer, partial=True)
        return self.answer_edit(
            row,
            lambda locked: neighbour_services.change_neighbour(
                actor=self.actor, neighbour=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """The ground has changed hands (managers)."""
        row = self.find(self.get_queryset(), pk)
        return self.answer(
            neighbour_services.retire_neighbour(actor=self.actor, neighbour=row, now=self.now)
        )
