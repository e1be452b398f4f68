"""Sessions of a property by the sun, and the house rules as documentation."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.views import ActorViewSet
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.sessions.queries import place_of, settings_of, windows_of
from properties.sessions.sun import SunDay, sun_days
from properties.sessions.windows import NoSession, SessionWindow, shooting_light
from scheduling.rules.catalogue import RULES
from scheduling.rules.rule import AppliesTo, LooksAt, Objection
from scheduling.sits.asking import check_days, read_query
from scheduling.sits.briefing import LIGHT_NOTICE
from scheduling.sits.overlaps import OVERLAP

MOST_DAYS = 62


class SessionsQuerySerializer(serializers.Serializer[Any]):
    def get_fields(self) -> dict[str, Any]:
        # "from" cannot be an attribute of a class.
        return {
            "property": VisibleField(properties_visible_to),
            "from": serializers.DateField(help_text="First local date"),
            "to": serializers.DateField(help_text="Last local date; at most 62 days"),
        }


class SessionSerializer(serializers.Serializer[Any]):
    """One session in the property's local time; `no_session` says why there is none."""

    kind = serializers.CharField()
    starts_at = serializers.DateTimeField(allow_null=True, help_text="The walk in begins")
    hunt_from = serializers.DateTimeField(allow_null=True)
    hunt_until = serializers.DateTimeField(allow_null=True)
    ends_at = serializers.DateTimeField(allow_null=True, help_text="The walk out is done")
    no_session = serializers.CharField(allow_null=True)


class SessionDaySerializer(serializers.Serializer[Any]):
    local_date = serializers.DateField()
    sunrise = serializers.DateTimeField(allow_null=True)
    sunset = serializers.DateTimeField(allow_null=True)
    shooting_light_from = serializers.DateTimeField(allow_null=True)
    shooting_light_until = serializers.DateTimeField(allow_null=True)
    sessions = SessionSerializer(many=True)


class SessionsAnswerSerializer(serializers.Serializer[Any]):
    property = serializers.UUIDField()
    time_zone = serializers.CharField()
    notice = serializers.CharField()
    days = SessionDaySerializer(many=True)


class SessionViewSet(ActorViewSet):
    """Mornings and evenings of a property, by its sun and its settings."""

    tag = "sessions"
    needs = {"list": Action.SESSION_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = SessionsAnswerSerializer

    @extend_schema(parameters=[SessionsQuerySerializer], responses=SessionsAnswerSerializer)
    def list(self, request: Request) -> Response:
        """Both sessions of each local date, with the shooting light that the settings allow."""
        asked = read_query(self, SessionsQuerySerializer)
        land = asked["property"]
        self.actor.require(self.needed, land.id)
        check_days(asked["from"], asked["to"], at_most=MOST_DAYS)
        return Response(
            {
                "property": land.id,
                "time_zone": land.time_zone,
                "notice": LIGHT_NOTICE,
                "days": list(_days(land, asked)),
            }
        )


def _days(land: Property, asked: dict[str, Any]) -> Iterable[dict[str, Any]]:
    place, settings = place_of(land), settings_of(land)
    windows = windows_of(land, first=asked["from"], last=asked["to"])

    def local(instant: datetime | None) -> datetime | None:
        return instant.astimezone(place.zone) if instant else None

    day: SunDay
    for day in sun_days(place, asked["from"], asked["to"]):
        light = shooting_light(day, settings)
        yield {
            "local_date": day.local_date,
            "sunrise": local(day.sunrise),
            "sunset": local(day.sunset),
            "shooting_light_from": local(light.begins_at) if light else None,
            "shooting_light_until": local(light.ends_at) if light else None,
            "sessions": [
                {"kind": key.kind.value, **_session(window, local)}
                for key, window in windows.items()
                if key.local_date == day.local_date
            ],
        }


def _session(window: SessionWindow | NoSession, local: Any) -> dict[str, Any]:
    if isinstance(window, NoSession):
        return {
            **dict.fromkeys(("starts_at", "hunt_from", "hunt_until", "ends_at")),
            "no_session": window.reason,
        }
    return {
        "starts_at": local(window.approach_from),
        "hunt_from": local(window.hunt_from),
        "hunt_until": local(window.hunt_until),
        "ends_at": local(window.exit_until),
        "no_session": None,
    }


class ObjectionSerializer(serializers.Serializer[Any]):
    code = serializers.CharField(help_text="Stable")
    title = serializers.CharField()
    template = serializers.CharField(help_text="The sentence, its facts in braces")
    overrulable = serializers.BooleanField(help_text="By a manager with a reason")


class HouseRuleSerializer(serializers.Serializer[Any]):
    title = serializers.CharField()
    applies_to = serializers.CharField(help_text="booking, planning or both")
    looks_at = serializers.CharField()
    settings = serializers.ListField(child=serializers.CharField(), help_text="group/name")
    objections = ObjectionSerializer(many=True)


class HouseRuleViewSet(ActorViewSet):
    """Every house rule, in the order in which objections are listed."""

    tag = "sits"
    needs = {"list": Action.HOUSE_RULE_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = HouseRuleSerializer

    @extend_schema(responses=HouseRuleSerializer(many=True))
    def list(self, request: Request) -> Response:
        """What each rule says, what may be overruled, and which settings it reads."""
        self.require_somewhere()
        return Response([*map(_rule, RULES), _OVERLAP_RULE])


def _rule(rule: Any) -> dict[str, Any]:
    return {
        "title": rule.title,
        "applies_to": rule.applies_to.value,
        "looks_at": rule.looks_at.value,
        "settings": list(rule.settings),
        "objections": [_objection(each) for each in rule.objections],
    }


def _objection(objection: Objection) -> dict[str, Any]:
    return {
        "code": objection.code,
        "title": objection.title,
        "template": objection.template,
        "overrulable": objection.overrulable,
    }


# The store's own guard beside the catalogue: instants on two properties, which no plan of
# one group of properties can bring about.
_OVERLAP_RULE = {
    "title": "One place at a time",
    "applies_to": AppliesTo.BOOKING.value,
    "looks_at": LooksAt.SITS.value,
    "settings": [],
    "objections": [_objection(OVERLAP)],
}
