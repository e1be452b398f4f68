"""Rotation plans over HTTP: compute, look, publish."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import FilterSet
from coop.api.problems import NotFound
from coop.api.views import ActorViewSet
from coop.jobs.api import StartedJobSerializer, started
from properties.people.models import Person
from scheduling.rotation import jobs, queries, services
from scheduling.rotation.group_access import require_on_all
from scheduling.rotation.models import RotationPlan
from scheduling.rotation.problem import Seat
from scheduling.rotation.serializers import (
    DifferenceSerializer,
    PlannedSeatSerializer,
    PlanSerializer,
    PublishedSerializer,
    RecomputePlanSerializer,
    RelaxationsSerializer,
    UnmetWishSerializer,
)


class PlanFilter(FilterSet):
    class Meta:
        model = RotationPlan
        fields = ["state", "cooperative"]


class RotationPlanViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Who sits where, so that no stand is over-hunted and everyone gets a fair share."""

    tag = "rotation"
    needs = {
        "list": Action.ROTATION_READ,
        "retrieve": Action.ROTATION_READ,
        "seats": Action.ROTATION_READ,
        "unmet": Action.ROTATION_READ,
        "recompute": Action.ROTATION_WRITE,
        "preview": Action.ROTATION_WRITE,
        "publish": Action.ROTATION_WRITE,
        "relaxations": Action.ROTATION_WRITE,
        "weigh_relaxations": Action.ROTATION_WRITE,
    }
    serializer_class = PlanSerializer
    filterset_class = PlanFilter
    page_order = ("-computed_at", "-id")

    def get_queryset(self) -> QuerySet[RotationPlan]:
        plans = queries.plans_visible_to(actor=self.actor).prefetch_related("properties")
        return plans.defer("problem", "explanations", "relaxations")

    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(self.find(self.get_queryset(), pk))

    @extend_schema(responses=PlannedSeatSerializer(many=True))
    @action(detail=True, pagination_class=None, filter_backends=[])
    def seats(self, request: Request, pk: str) -> Response:
        """The plan's seats on the properties that you may see, in order of time."""
        plan = self.find(self.get_queryset(), pk)
        seats = queries.seats_shown_to(actor=self.actor, plan=plan)
        ordered = seats.order_by("local_date", "-kind", "stand__name", "id")
        shown = queries.guest_names(actor=self.actor, seats=ordered)
        context = {**self.get_serializer_context(), "guest_names": shown}
        return Response(PlannedSeatSerializer(ordered, many=True, context=context).data)

    @extend_schema(responses=UnmetWishSerializer(many=True))
    @action(detail=True, pagination_class=None, filter_backends=[])
    def unmet(self, request: Request, pk: str) -> Response:
        """Wishes not granted, each with what stood in the way; members see their own."""
        plan = self.find(self.get_queryset(), pk)
        wishes = plan.explanations
        lands = list(plan.properties.values_list("id", flat=True))
        if not all(self.actor.may(Action.ROTATION_WRITE, land) for land in lands):
            wishes = [wish for wish in wishes if wish["person"] == str(self.actor.person_id)]
        return Response(UnmetWishSerializer(wishes, many=True).data)

    @extend_schema(request=RecomputePlanSerializer, responses={202: StartedJobSerializer})
    @action(detail=False, methods=["post"])
    def recompute(self, request: Request) -> Response:
        """Compute a draft for a property's group; answers with the job to poll.

        Properties that share members are one group: 403 unless you manage all of it.
        """
        land = self.read(RecomputePlanSerializer)["property"]
        self.actor.require(self.needed, land.id)
        lands = queries.group_with(land)
        require_on_all(actor=self.actor, action=self.needed, lands=lands)
        run = jobs.queue(lands=lands, now=self.now, requested_by_id=self.request.user.id)
        return started(run)

    @extend_schema(responses=DifferenceSerializer(many=True))
    @action(detail=True, pagination_class=None, filter_backends=[])
    def preview(self, request: Request, pk: str) -> Response:
        """What publishing this draft would change, member by member."""
        plan = self._planned_by_me(pk)
        found = services.preview(plan=plan, now=self.now)
        names = dict(
            Person.objects.filter(id__in=[one.member_id for one in found]).values_list("id", "name")
        )
        by_text = {str(person_id): name for person_id, name in names.items()}
        rows = [
            {
                "person": one.member_id,
                "person_name": by_text[one.member_id],
                "added": [_shown(seat) for seat in one.added],
                "removed": [_shown(seat) for seat in one.removed],
            }
            for one in found
        ]
        return Response(DifferenceSerializer(rows, many=True).data)

    @extend_schema(request=None, responses=PublishedSerializer)
    @action(detail=True, methods=["post"])
    def publish(self, request: Request, pk: str) -> Response:
        """Make a draft the plan; members are told what changed. 409 if it has become stale."""
        plan = self._planned_by_me(pk)
        try:
            published = services.publish_plan(actor=self.actor, plan=plan, now=self.now)
        except services.StalePlan:
            services.mark_stale(plan=plan)
            raise
        context = self.get_serializer_context()
        body = {
            "plan": PlanSerializer(published.plan, context=context).data,
            "kept": published.placed.kept,
            "moved": published.placed.moved,
            "added": published.placed.added,
            "withdrawn": published.placed.withdrawn,
        }
        return Response(body)

    @extend_schema(responses=RelaxationsSerializer)
    @action(detail=True, pagination_class=None, filter_backends=[])
    def relaxations(self, request: Request, pk: str) -> Response:
        """What single rules loosened by a step would serve; 404 until it was worked out.

        Arithmetic, not advice. Only rules that a manager may overrule are loosened.
        """
        plan = self._planned_by_me(pk)
        if plan.relaxations is None:
            raise NotFound("Nobody has asked for this plan's relaxations yet.")
        return Response(RelaxationsSerializer(plan.relaxations).data)

    @extend_schema(request=None, responses={202: StartedJobSerializer})
    @relaxations.mapping.post
    def weigh_relaxations(self, request: Request, pk: str) -> Response:
        """Work out what single loosened rules would serve; answers with the job to poll."""
        plan = self._planned_by_me(pk)
        return started(
            jobs.queue_relaxations(plan=plan, now=self.now, requested_by_id=request.user.id)
        )

    def _planned_by_me(self, pk: str) -> RotationPlan:
        plan = self.find(self.get_queryset(), pk)
        require_on_all(actor=self.actor, action=self.needed, lands=list(plan.properties.all()))
        return plan


def _shown(seat: Seat) -> dict[str, Any]:
    return {
        "stand": seat.stand_id,
        "local_date": seat.session.local_date,
        "kind": seat.session.kind.value,
        "guests": list(seat.guest_ids),
    }
