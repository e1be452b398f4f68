"""The errands of a day as one walk, over HTTP."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import TIME_ZONE, LocalInstantField, VisibleField
from coop.api.filters import KnownParametersFilter
from coop.api.views import ActorViewSet
from properties.land.local_dates import local_date_on
from properties.land.queries import properties_visible_to
from properties.people.queries import persons_visible_to
from scheduling.errands import queries
from scheduling.errands.models import Errand
from scheduling.errands.walk_queries import (
    CAUTION,
    STRAIGHT_LINES,
    ErrandWalk,
    errand_walk,
)
from scheduling.sits.condition_notices import LOOK_YOURSELF

FARTHEST_DAYS = 14


class WalkQuestionSerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    on = serializers.DateField(
        required=False, help_text="A local date there, today to 14 days ahead; today when left out"
    )
    assignee = VisibleField(
        persons_visible_to,
        required=False,
        help_text="Only what was given to this person or to nobody",
    )


class WalkErrandSerializer(serializers.ModelSerializer[Errand]):
    assignee_name = serializers.CharField(source="assignee.name", default=None, allow_null=True)

    class Meta:
        model = Errand
        fields = [
            "id",
            "kind",
            "scrape",
            "camera",
            "stand",
            "incident",
            "reason",
            "due_on",
            "assignee",
            "assignee_name",
        ]
        read_only_fields = fields


class StopSerializer(serializers.Serializer[Any]):
    longitude = serializers.FloatField()
    latitude = serializers.FloatField()
    from_last_m = serializers.FloatField(help_text="Straight line from the stop before")
    crosses = serializers.ListField(
        child=serializers.CharField(),
        help_text="Sanctuaries, hazards and closed parts that this straight line touches: go round "
        "them",
    )
    after_minutes = serializers.IntegerField(help_text="Minutes after the start")
    errands = WalkErrandSerializer(many=True)


class StartHourSerializer(serializers.Serializer[Any]):
    """`fit` is the chance that no deer smells the walker at any stop."""

    starts_at = LocalInstantField()
    ends_at = LocalInstantField()
    fit = serializers.FloatField()
    worst = serializers.FloatField(help_text="The lowest chance at one stop")


class ErrandWalkSerializer(serializers.Serializer[Any]):
    property = serializers.UUIDField(source="property_id")
    on = serializers.DateField()
    start = serializers.ListField(
        child=serializers.FloatField(),
        allow_null=True,
        help_text="Longitude and latitude where the walk begins and ends",
    )
    start_sentence = serializers.CharField()
    stops = StopSerializer(many=True)
    without_place = WalkErrandSerializer(many=True)
    closed = WalkErrandSerializer(
        many=True, help_text="Left out of the walk: their ground is closed all that day"
    )
    closures = serializers.ListField(
        child=serializers.CharField(),
        help_text="What is closed on the property that day, until when and why, in words",
    )
    length_m = serializers.FloatField()
    back_m = serializers.FloatField(help_text="Of it, the straight line back from the last stop")
    is_shortest = serializers.BooleanField(help_text="Whether no other order is shorter")
    minutes = serializers.IntegerField()
    hours = StartHourSerializer(many=True)
    best = StartHourSerializer(allow_null=True)
    hours_sentence = serializers.CharField()
    conditions = serializers.ListField(
        child=serializers.CharField(),
        help_text="Thunder, fire danger, water and ice that somebody told of that day, in words",
    )
    notice = serializers.SerializerMethodField()

    def get_notice(self, walk: ErrandWalk) -> str:
        return " ".join([STRAIGHT_LINES, *walk.closures, *walk.conditions, LOOK_YOURSELF, CAUTION])


class ErrandWalkViewSet(ActorViewSet):
    """The open errands of a property put on one walk: every walk there is pressure."""

    tag = "errands"
    needs = {"list": Action.ERRAND_READ}
    serializer_class = ErrandWalkSerializer
    pagination_class = None
    filter_backends = [KnownParametersFilter]
    extra_parameters = ("property", "on", "assignee")

    def get_queryset(self) -> QuerySet[Errand]:
        return queries.errands_visible_to(actor=self.actor)

    @extend_schema(
        operation_id="errand_walk",
        parameters=[WalkQuestionSerializer],
        responses=ErrandWalkSerializer(many=False),
    )
    def list(self, request: Request) -> Response:
        """What is due on a day or soon after it, in the order of the shortest walk from the way
        in, with the hours in which the whole walk does least harm."""
        self.filter_queryset(self.get_queryset())
        question = WalkQuestionSerializer(
            data=request.query_params, context=self.get_serializer_context()
        )
        question.is_valid(raise_exception=True)
        asked = question.validated_data
        land = asked["property"]
        self.actor.require(self.needed, land.id)
        today = local_date_on(land, self.now)
        on = asked.get("on", today)
        if not 0 <= (on - today).days <= FARTHEST_DAYS:
            raise serializers.ValidationError(
                {"on": f"Must lie between today there, {today}, and {FARTHEST_DAYS} days ahead."}
            )
        person = asked.get("assignee")
        walk = errand_walk(land, on=on, now=self.now, assignee_id=person and person.id)
        context = {**self.get_serializer_context(), TIME_ZONE: land.time_zone}
        return Response(ErrandWalkSerializer(walk, context=context).data)
