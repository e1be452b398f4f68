"""A property's list over HTTP: a week or some weeks at once, as figures and as a page to print."""

from datetime import date
from typing import Any

from django.template.loader import render_to_string
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import TIME_ZONE
from coop.api.rendering import PAGE_HEADERS, FastJSONRenderer, PageRenderer
from coop.api.views import ActorViewSet
from coop.jobs import services as jobs
from coop.jobs.api import StartedJobSerializer, started
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from scheduling.worklist import jobs as worklist_jobs
from scheduling.worklist.api import WorkItemSerializer
from scheduling.worklist.queries import Week, Worklist, worklist_of
from scheduling.worklist.templates_api import WorkTemplateSerializer
from scheduling.worklist.weeks import monday_of, week_name, week_on

MOST_WEEKS = 53


class WeekSerializer(serializers.Serializer[Any]):
    week = serializers.SerializerMethodField(help_text="ISO 8601, as 2025-W45")
    starts_on = serializers.DateField()
    items = WorkItemSerializer(many=True)

    def get_week(self, week: Week) -> str:
        return week_name(week.starts_on)


class WorklistSerializer(serializers.Serializer[Any]):
    """`overdue`: open from weeks before. `undated`: lines of the year without a date, since no
    season is entered for it."""

    property = serializers.UUIDField(source="land.id")
    today = serializers.DateField()
    weeks = WeekSerializer(many=True)
    overdue = WorkItemSerializer(many=True)
    undated = WorkTemplateSerializer(many=True)


_WEEKS = [
    OpenApiParameter("week", str, description="The first week, as 2025-W45; this one if left out"),
    OpenApiParameter("weeks", int, description=f"How many, 1 to {MOST_WEEKS}; 1 if left out"),
]


@extend_schema(
    parameters=[
        OpenApiParameter("id", OpenApiTypes.UUID, OpenApiParameter.PATH, description="A property")
    ]
)
class WorklistViewSet(ActorViewSet):
    """The manager's list of a property, week by week."""

    tag = "worklist"
    needs = {
        "weeks": Action.WORKLIST_READ,
        "html": Action.WORKLIST_READ,
        "write": Action.WORKLIST_WRITE,
    }
    serializer_class = WorklistSerializer
    pagination_class = None
    filter_backends = []
    queryset = Property.objects.none()

    @extend_schema(parameters=_WEEKS)
    @action(detail=True)
    def weeks(self, request: Request, pk: str) -> Response:
        """A week, or some weeks from it on."""
        found = self._worklist(pk)
        context = {**self.get_serializer_context(), TIME_ZONE: found.land.time_zone}
        return Response(WorklistSerializer(found, context=context).data)

    @extend_schema(parameters=_WEEKS, responses={(200, "text/html"): OpenApiTypes.STR})
    @action(detail=True, renderer_classes=[PageRenderer, FastJSONRenderer])
    def html(self, request: Request, pk: str) -> Response:
        """The same as a page to print and tick off."""
        found = self._worklist(pk)
        weeks = [{"name": week_name(week.starts_on), "week": week} for week in found.weeks]
        page = render_to_string("scheduling/worklist.html", {"list": found, "weeks": weeks})
        return Response(page, content_type="text/html; charset=utf-8", headers=PAGE_HEADERS)

    @extend_schema(request=None, responses={202: StartedJobSerializer})
    @action(detail=True, methods=["post"])
    def write(self, request: Request, pk: str) -> Response:
        """Bring the list up to date now; it is otherwise done once a day."""
        land = self._land(pk)
        user = request.user
        run = jobs.enqueue(
            name=worklist_jobs.WRITE,
            now=self.now,
            scope=str(land.id),
            property_id=land.id,
            parameters={"property": str(land.id)},
            requested_by_id=user.pk if user is not None and user.is_authenticated else None,
        )
        return started(run)

    def _worklist(self, pk: str) -> Worklist:
        land = self._land(pk)
        first_on, weeks = self._span(land)
        return worklist_of(land, first_on=first_on, weeks=weeks, now=self.now)

    def _land(self, pk: str) -> Property:
        rows = properties_visible_to(actor=self.actor).select_related("cooperative")
        land = self.find(rows, pk)
        self.actor.require(self.needed, land.id)
        return land

    def _span(self, land: Property) -> tuple[date, int]:
        asked = self.request.query_params
        try:
            first_on = (
                monday_of(asked["week"])
                if "week" in asked
                else week_on(local_date_on(land, self.now))
            )
        except ValueError as problem:
            raise serializers.ValidationError({"week": str(problem)}) from problem
        weeks = asked.get("weeks", "1")
        if not weeks.isdecimal() or not 1 <= int(weeks) <= MOST_WEEKS:
            raise serializers.ValidationError({"weeks": f"Must be 1 to {MOST_WEEKS}."})
        return first_on, int(weeks)
