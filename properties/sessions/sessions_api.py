"""When a property's sessions begin and end, over HTTP."""

from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.views import ActorViewSet
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.sessions import queries
from properties.sessions.api import NOTICE
from properties.sessions.kinds import SessionKind
from properties.sessions.windows import NoSession

MOST_DAYS = 62
USUAL_DAYS = 7


class DatesSerializer(serializers.Serializer[Any]):
    """Local dates of the property, both included."""

    first = serializers.DateField(required=False)
    last = serializers.DateField(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        first: date = attrs.get("first") or self.context["today"]
        last: date = attrs.get("last") or first + timedelta(days=USUAL_DAYS - 1)
        if last < first:
            raise serializers.ValidationError({"last": "Must not lie before first."})
        if (last - first).days >= MOST_DAYS:
            raise serializers.ValidationError(
                {"last": f"At most {MOST_DAYS} days are told at once."}
            )
        return {"first": first, "last": last}


class SessionWindowSerializer(serializers.Serializer[Any]):
    """A session's window, or the reason why there is none that day."""

    local_date = serializers.DateField()
    kind = serializers.ChoiceField(choices=[(kind.value, kind.value) for kind in SessionKind])
    approach_from = serializers.DateTimeField(allow_null=True)
    hunt_from = serializers.DateTimeField(allow_null=True)
    hunt_until = serializers.DateTimeField(allow_null=True)
    exit_until = serializers.DateTimeField(allow_null=True)
    reason = serializers.CharField(allow_null=True, help_text="Why there is no session")


class PropertySessionsSerializer(serializers.Serializer[Any]):
    time_zone = serializers.CharField()
    notice = serializers.CharField()
    sessions = SessionWindowSerializer(many=True)


class PropertySessionsViewSet(ActorViewSet):
    """Sessions by the sun at the property and by its settings."""

    tag = "sessions"
    needs = {"sessions": Action.SESSION_READ}
    serializer_class = PropertySessionsSerializer
    filter_backends = []
    pagination_class = None

    @extend_schema(
        parameters=[
            OpenApiParameter("first", date, description="first local date; today when left out"),
            OpenApiParameter("last", date, description="last local date; a week when left out"),
        ],
        responses=PropertySessionsSerializer,
    )
    @action(detail=True)
    def sessions(self, request: Request, pk: str) -> Response:
        """Morning and evening of each local date, with walk in, hunt and walk out."""
        land = self.find(properties_visible_to(actor=self.actor), pk)
        self.actor.require(self.needed, land.id)
        zone = ZoneInfo(land.time_zone)
        dates = DatesSerializer(
            data=request.query_params, context={"today": self.now.astimezone(zone).date()}
        )
        dates.is_valid(raise_exception=True)
        told = {
            "time_zone": land.time_zone,
            "notice": NOTICE,
            "sessions": list(_sessions(land, zone, **dates.validated_data)),
        }
        return Response(told)


def _sessions(land: Property, zone: ZoneInfo, *, first: date, last: date) -> Any:
    for key, window in queries.windows_of(land, first=first, last=last).items():
        told: dict[str, Any] = {"local_date": key.local_date, "kind": key.kind.value}
        for name in ("approach_from", "hunt_from", "hunt_until", "exit_until"):
            instant = getattr(window, name, None)
            told[name] = instant.astimezone(zone).isoformat(timespec="seconds") if instant else None
        told["reason"] = window.reason if isinstance(window, NoSession) else None
        yield told
