"""Rotation plans over HTTP: compute, look, publish."""

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import FilterSet
from coop.api.instants import as_of_record
from coop.api.problems import NotFound
from coop.api.views import ActorViewSet
from coop.jobs.api import StartedJobSerializer, started
from scheduling.rotation import jobs, queries, services
from scheduling.rotation.group_access import require_on_all
from scheduling.rotation.models import RotationPlan
from scheduling.rotation.queries import properties_made_by
from scheduling.rotation.serializers import (
    DifferenceSerializer,
    PlannedSeatSerializer,
    PlanSerializer,
    PublishedSerializer,
    RecomputePlanSerializer,
    RelaxationsSerializer,
    UnmetWishSerializer,
)
from scheduling.rotation.told_queries import changes_shown_to, unmet_shown_to


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
        """Wishes not granted, each with what stood in the way: your own first, then by date.

        Members read their own; whoever manages some of the plan's properties also what concerns
        these alone, by `is_part`; whoever manages all reads all.
        """
        plan = self.find(self.get_queryset(), pk)
        shown = unmet_shown_to(actor=self.actor, plan=plan)
        return Response(UnmetWishSerializer(shown, many=True).data)

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
        """What publishing this draft would change, member by member: you first, then by date.

        Of the properties that you manage; publishing is for whoever manages all of them.
        """
        plan = self.find(self.get_queryset(), pk)
        lands = list(plan.properties.all())
        managed = properties_made_by(self.actor, lands)
        if not managed:
            require_on_all(actor=self.actor, action=self.needed, lands=lands)
        found = services.preview(plan=plan, now=self.now)
        shown = changes_shown_to(actor=self.actor, lands=managed, found=found)
        return Response(DifferenceSerializer(shown, many=True).data)

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
        weighed_at = as_of_record(plan.relaxations["weighed_at"])
        found = {**plan.relaxations, "weighed_at": weighed_at}
        return Response(RelaxationsSerializer(found).data)

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
