"""The land's day and calendar over HTTP."""

from datetime import date
from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.asking import read_query
from coop.api.fields import LocalInstantField, VisibleField
from coop.api.rendering import FastJSONRenderer, PageRenderer
from coop.api.views import ActorViewSet
from coop.reports.grounds import NO_ID, GroundSerializer, grounds_of
from coop.reports.land import calendar
from coop.reports.land.pages import write_today_page
from coop.reports.land.today import LandToday, land_today
from coop.reports.renderers import page_answer
from properties.land.closures_api import ClosureSerializer
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.land.year_fields import DayWithinYearsField


class PersonTodaySerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    standing = serializers.CharField(help_text="member, guest, client, or outsider on foot")
    through = serializers.CharField(help_text="A guest's host or a client's outfitter")
    vehicle = serializers.CharField(help_text="As far as anybody entered it")
    stand = serializers.CharField(help_text="Empty: on foot, tracking a deer")
    span = serializers.CharField(help_text="Empty: on foot, tracking a deer")
    comes_at = LocalInstantField(whole_seconds=True)
    gone_by = LocalInstantField(whole_seconds=True)
    state = serializers.CharField(help_text="The sit's; tracking: on foot without a check-in")
    came_at = LocalInstantField(whole_seconds=True, allow_null=True)
    left_at = LocalInstantField(whole_seconds=True, allow_null=True)
    is_there = serializers.BooleanField(
        help_text="Checked in and not checked out, or on foot and not left"
    )
    is_late = serializers.BooleanField(
        help_text="Not checked in since the start, or not checked out since the end"
    )
    is_tracking = serializers.BooleanField(
        help_text="By the record on foot there right now, tracking a deer"
    )


class ClosedTodaySerializer(serializers.Serializer[Any]):
    reason = serializers.CharField()
    until = serializers.DateField()
    is_part = serializers.BooleanField()
    session_kind = serializers.CharField(help_text="Empty: all day")


class LandTodaySerializer(serializers.Serializer[Any]):
    """Full names, guests, vehicles: it is their ground; times of the ground by its clock.

    Never a number or an address.
    """

    property_id = serializers.UUIDField()
    property_name = serializers.CharField()
    cooperative_name = serializers.CharField()
    time_zone = serializers.CharField()
    on = serializers.DateField(help_text="The property's local date")
    asked_at = serializers.DateTimeField()
    there_now = PersonTodaySerializer(many=True)
    roster = PersonTodaySerializer(many=True)
    closed = ClosedTodaySerializer(many=True)


class LandCalendarQuerySerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    first_on = DayWithinYearsField(help_text="The property's local date")
    last_on = serializers.DateField(help_text="Included; at most 400 days in all")

    def validate(self, asked: dict[str, Any]) -> dict[str, Any]:
        first_on: date = asked["first_on"]
        if not first_on <= asked["last_on"] <= calendar.longest_end(first_on):
            sentence = f"Must lie in the {calendar.LONGEST_DAYS} days from first_on."
            raise serializers.ValidationError({"last_on": sentence})
        return asked


class CalendarSeasonSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    first_on = serializers.DateField()
    last_on = serializers.DateField()
    weapons = serializers.ListField(child=serializers.CharField())


class CalendarDaySerializer(serializers.Serializer[Any]):
    on = serializers.DateField()
    errands = serializers.DictField(
        child=serializers.IntegerField(), help_text="Open errands due that day, by kind"
    )
    work_h = serializers.FloatField(help_text="Hours of work days done there")
    morning = serializers.IntegerField(help_text="People with a seat; all day counts in both")
    evening = serializers.IntegerField()


class LandCalendarSerializer(serializers.Serializer[Any]):
    property = serializers.UUIDField()
    first_on = serializers.DateField()
    last_on = serializers.DateField()
    closures = ClosureSerializer(many=True)
    seasons = CalendarSeasonSerializer(many=True)
    days = CalendarDaySerializer(
        many=True,
        allow_null=True,
        help_text="Dates on which something lies; null for members",
    )


@extend_schema(
    parameters=[
        OpenApiParameter("id", OpenApiTypes.UUID, OpenApiParameter.PATH, description="A property")
    ]
)
class LandTodayViewSet(ActorViewSet):
    """Who is on a property now, and who comes today, for its landowner and managers."""

    tag = "land"
    needs = {
        "list": Action.LAND_TODAY_READ,
        "figures": Action.LAND_TODAY_READ,
        "html": Action.LAND_TODAY_READ,
    }
    pagination_class = None
    filter_backends = []
    queryset = Property.objects.none()

    @extend_schema(responses=GroundSerializer(many=True), parameters=NO_ID)
    def list(self, request: Request) -> Response:
        """The properties whose day you may read, with the address of each."""
        return Response(GroundSerializer(grounds_of(self, "land-today"), many=True).data)

    @extend_schema(responses=LandTodaySerializer)
    @action(detail=True)
    def figures(self, request: Request, pk: str) -> Response:
        """Who is there now, and today's roster with vehicles."""
        return Response(LandTodaySerializer(self._today(pk).as_dict()).data)

    @extend_schema(responses={(200, "text/html"): OpenApiTypes.STR})
    @action(detail=True, renderer_classes=[PageRenderer, FastJSONRenderer])
    def html(self, request: Request, pk: str) -> Response:
        """The same as a page to print."""
        return page_answer(write_today_page(self._today(pk)))

    def _today(self, pk: str) -> LandToday:
        rows = properties_visible_to(actor=self.actor).select_related("cooperative")
        land = self.find(rows, pk)
        self.actor.require(self.needed, land.id)
        return land_today(land=land, now=self.now)


class LandCalendarViewSet(ActorViewSet):
    """Closures and seasons of a property; work and sits as counts for who keeps or owns it."""

    tag = "land"
    needs = {"list": Action.LAND_CALENDAR_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = LandCalendarSerializer

    @extend_schema(parameters=[LandCalendarQuerySerializer], responses=LandCalendarSerializer)
    def list(self, request: Request) -> Response:
        """The land's calendar between two dates."""
        asked = read_query(self, LandCalendarQuerySerializer)
        land, dates = asked["property"], (asked["first_on"], asked["last_on"])
        self.actor.require(self.needed, land.id)
        keeps = self.actor.may(Action.LAND_TODAY_READ, land.id)
        found = {
            "property": land.id,
            "first_on": dates[0],
            "last_on": dates[1],
            "closures": calendar.closures_of(land, *dates),
            "seasons": calendar.seasons_of(land, *dates),
            "days": calendar.days_of(land, *dates) if keeps else None,
        }
        shown = LandCalendarSerializer(found, context=self.get_serializer_context())
        return Response(shown.data)
