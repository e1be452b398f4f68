"""Rotation plans over HTTP: compute, look, publish."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import FilterSet
from coop.api.problems import NotFound
from coop.api.views import ActorViewSet
from coop.jobs.api import StartedJobSerializer, started
from properties.land.queries import properties_visible_to
from properties.people.models import Person
from scheduling.rotation import jobs, queries, services
from scheduling.rotation.models import PlannedSeat, RotationPlan
from scheduling.rotation.problem import Seat
from scheduling.rotation.relaxations import Basis, Target


class LevelSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    value = serializers.FloatField()
    best = serializers.FloatField()
    bound = serializers.FloatField(help_text="No plan passes it, given the aims before it")
    gap_pct = serializers.FloatField()
    proven = serializers.BooleanField()


class FiguresSerializer(serializers.Serializer[Any]):
    """How good the plan is, aim by aim in their strict order, and how far from the best."""

    status = serializers.CharField()
    objective = serializers.CharField(
        required=False, help_text="levels: aim by aim; blended: one score, for large groups"
    )
    blended_score = serializers.FloatField(required=False, allow_null=True)
    blended_bound = serializers.FloatField(
        required=False, allow_null=True, help_text="No plan scores more"
    )
    seconds = serializers.FloatField()
    seed = serializers.IntegerField()
    requested = serializers.IntegerField()
    levels = LevelSerializer(many=True)
    booking_conflicts = serializers.ListField(
        child=serializers.CharField(),
        help_text="For whoever plans all of its properties; empty for others",
    )
    same_wind_excess = serializers.ListField(
        child=serializers.CharField(),
        default=list,
        help_text="Stands used beyond a soft same-wind cap; for whoever plans them all",
    )


class PlanSerializer(serializers.ModelSerializer[RotationPlan]):
    properties = serializers.SerializerMethodField()
    result = serializers.SerializerMethodField()

    class Meta:
        model = RotationPlan
        fields = [
            "id",
            "cooperative",
            "properties",
            "first_on",
            "last_on",
            "state",
            "fingerprint",
            "result",
            "computed_at",
            "published_at",
            "published_by",
            "version",
        ]
        read_only_fields = fields

    def get_properties(self, plan: RotationPlan) -> list[str]:
        """The planned properties that the reader may see."""
        visible = self.context["view"].actor.properties_for(Action.ROTATION_READ)
        return [str(land.id) for land in plan.properties.all() if land.id in visible]

    @extend_schema_field(FiguresSerializer)
    def get_result(self, plan: RotationPlan) -> dict[str, Any]:
        """The figures; conflicts name people and stands of every property of the plan."""
        told = dict(FiguresSerializer(plan.result).data)
        actor = self.context["view"].actor
        if not all(actor.may(Action.ROTATION_WRITE, land.id) for land in plan.properties.all()):
            told["booking_conflicts"] = told["same_wind_excess"] = []
        return told


class PlannedSeatSerializer(serializers.ModelSerializer[PlannedSeat]):
    stand_name = serializers.CharField(source="stand.name")
    person_name = serializers.CharField(source="person.name")

    class Meta:
        model = PlannedSeat
        fields = [
            "property",
            "stand",
            "stand_name",
            "person",
            "person_name",
            "local_date",
            "kind",
            "quality_pct",
            "locked",
            "continues_morning",
        ]
        read_only_fields = fields


class ObstacleSerializer(serializers.Serializer[Any]):
    stand = serializers.UUIDField()
    stand_name = serializers.CharField()
    local_date = serializers.DateField()
    kind = serializers.CharField()
    code = serializers.CharField()
    sentence = serializers.CharField()
    seats_in_the_way = serializers.IntegerField()


class UnmetWishSerializer(serializers.Serializer[Any]):
    person = serializers.UUIDField()
    sits_requested = serializers.IntegerField()
    sits = serializers.IntegerField()
    sentence = serializers.CharField()
    kept_out = serializers.ListField(
        child=serializers.CharField(),
        help_text="Rules that look at the person: an expired paper, a role that ended",
    )
    obstacles = ObstacleSerializer(many=True)


class SeatSerializer(serializers.Serializer[Any]):
    stand = serializers.UUIDField()
    local_date = serializers.DateField()
    kind = serializers.CharField()


class DifferenceSerializer(serializers.Serializer[Any]):
    person = serializers.UUIDField()
    person_name = serializers.CharField()
    added = SeatSerializer(many=True)
    removed = SeatSerializer(many=True)


class PublishedSerializer(serializers.Serializer[Any]):
    plan = PlanSerializer()
    kept = serializers.IntegerField()
    moved = serializers.IntegerField()
    added = serializers.IntegerField()
    withdrawn = serializers.IntegerField()


class RecomputePlanSerializer(serializers.Serializer[Any]):
    """One property names its whole group: those that share members are planned together."""

    property = VisibleField(properties_visible_to)


class GainSerializer(serializers.Serializer[Any]):
    code = serializers.CharField(help_text="Code of the rule that would be loosened")
    target = serializers.ChoiceField(choices=[(one.value, one.value) for one in Target])
    target_id = serializers.UUIDField(allow_null=True, help_text="Null for a rule of the plan")
    sentence = serializers.CharField()
    more_sits_at_least = serializers.IntegerField()
    more_sits_at_most = serializers.IntegerField()
    basis = serializers.ChoiceField(
        choices=[(one.value, one.value) for one in Basis],
        help_text="solved: the gain is known exactly; by_duals: only that it lies between",
    )


class RelaxationsSerializer(serializers.Serializer[Any]):
    """Arithmetic, not advice: what one rule loosened by one step would serve."""

    weighed_at = serializers.DateTimeField()
    seconds = serializers.FloatField()
    without_gain = serializers.IntegerField(help_text="Tried; they would serve no sit more")
    not_tried = serializers.IntegerField(help_text="Time ran out before these")
    gains = GainSerializer(many=True)


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
        return Response(PlannedSeatSerializer(ordered, many=True).data)

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
        """Compute a draft for a property's group; answers with the job to poll."""
        land = self.read(RecomputePlanSerializer)["property"]
        lands = queries.group_with(land)
        for each in lands:
            self.actor.require(self.needed, each.id)
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
        plan = self.find(self.get_queryset(), pk)
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
        for land in plan.properties.all():
            self.actor.require(self.needed, land.id)
        return plan


def _shown(seat: Seat) -> dict[str, Any]:
    return {
        "stand": seat.stand_id,
        "local_date": seat.session.local_date,
        "kind": seat.session.kind.value,
    }
