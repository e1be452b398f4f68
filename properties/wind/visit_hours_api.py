"""When going to a place on foot does least harm, over HTTP."""

from datetime import UTC, datetime, timedelta
from typing import Any

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.asking import read_query
from coop.api.fields import LocalInstantField, VisibleField, local_instant
from coop.api.problems import NotFound
from coop.api.views import ActorViewSet
from properties.land.queries import properties_visible_to
from properties.wind.models import ForecastIssue
from properties.wind.queries import latest_issue
from properties.wind.visit_hours import visit_hours

MOST_HOURS = 7 * 24
BEST = 5
NOTICE = (
    "An answer about scent alone. Whether anybody sits there then, and whether the place may "
    "be entered, is told elsewhere."
)


class VisitQuestionSerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    longitude = serializers.FloatField(min_value=-180, max_value=180)
    latitude = serializers.FloatField(min_value=-90, max_value=90)
    hours = serializers.IntegerField(min_value=1, max_value=MOST_HOURS, default=72)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        land = attrs["property"]
        inside = (
            land.west <= attrs["longitude"] <= land.east
            and land.south <= attrs["latitude"] <= land.north
        )
        if not inside:
            raise serializers.ValidationError(
                {"longitude": "The place does not lie on the property."}
            )
        return attrs


class VisitHourSerializer(serializers.Serializer[Any]):
    starts_at = LocalInstantField()
    fit = serializers.FloatField(help_text="Chance that no group of deer smells the visitor")
    wind_from_deg = serializers.FloatField(allow_null=True)


class VisitHoursSerializer(serializers.Serializer[Any]):
    """Hours in order of time, the best of them again, and the forecast behind them."""

    notice = serializers.CharField()
    issue = serializers.UUIDField()
    issued_at = serializers.DateTimeField()
    unknown_hours = serializers.IntegerField(help_text="Hours asked for that no forecast holds")
    best = VisitHourSerializer(many=True)
    hours = VisitHourSerializer(many=True)


class VisitHoursViewSet(ActorViewSet):
    """Hours of the next days in which half an hour at a place is least likely to be smelled.

    The places that hold deer decide; whoever may not see the map may not ask.
    """

    tag = "wind"
    needs = {"list": Action.FEATURE_READ}
    serializer_class = VisitHoursSerializer
    filter_backends = []
    pagination_class = None

    @extend_schema(
        operation_id="visit_hours",
        parameters=[
            OpenApiParameter("property", str, required=True),
            OpenApiParameter("longitude", float, required=True),
            OpenApiParameter("latitude", float, required=True),
            OpenApiParameter("hours", int, description="from the next full hour on; default 72"),
        ],
        responses=VisitHoursSerializer(many=False),
    )
    def list(self, request: Request) -> Response:
        """The hours from the next full one on, judged with the newest forecast."""
        asked = read_query(self, VisitQuestionSerializer)
        land = asked["property"]
        self.actor.require(self.needed, land.id)
        issue = latest_issue(land, known_at=self.now)
        if issue is None:
            raise NotFound("No forecast is known for this property.")
        hours = _hours(self.now, asked["hours"])
        found = visit_hours(
            land,
            longitude=asked["longitude"],
            latitude=asked["latitude"],
            hours=hours,
            issue=issue,
        )
        return Response(_told(found, hours, issue, land.time_zone))


def _hours(now: datetime, count: int) -> list[datetime]:
    this = now.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    return [this + timedelta(hours=number) for number in range(1, count + 1)]


def _told(found: Any, hours: Any, issue: ForecastIssue, time_zone: str) -> dict[str, Any]:
    told = [
        {
            "starts_at": local_instant(hour.starts_at, time_zone),
            "fit": round(hour.fit, 4),
            "wind_from_deg": hour.wind_from_deg,
        }
        for hour in found
    ]
    return {
        "notice": NOTICE,
        "issue": issue.id,
        "issued_at": issue.issued_at,
        "unknown_hours": len(hours) - len(told),
        "best": sorted(told, key=lambda hour: -hour["fit"])[:BEST],
        "hours": told,
    }
