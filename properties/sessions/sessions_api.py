"""When a property's sessions begin and end, over HTTP."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.asking import read_query
from coop.api.fields import LocalInstantField
from coop.api.views import ActorViewSet
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.land.years import FIRST_YEAR
from properties.sessions import queries
from properties.sessions.confirmation import NOTICE
from properties.sessions.ephemeris import LAST_WHOLE_YEAR
from properties.sessions.kinds import SessionKey, SessionKind
from properties.sessions.sun import sun_days
from properties.sessions.windows import NoSession, SessionWindow, shooting_light

MOST_DAYS = 62
USUAL_DAYS = 7
EARLIEST_YEAR, LATEST_YEAR = FIRST_YEAR, LAST_WHOLE_YEAR


class DatesSerializer(serializers.Serializer[Any]):
    """Local dates of the property, both included."""

    first_on = serializers.DateField(required=False, help_text="Today when left out")
    last_on = serializers.DateField(
        required=False, help_text=f"A week when left out; at most {MOST_DAYS} days"
    )


class SessionSerializer(serializers.Serializer[Any]):
    """A session on the property's clock, or the reason why there is none that day."""

    kind = serializers.ChoiceField(choices=[(kind.value, kind.value) for kind in SessionKind])
    approach_from = LocalInstantField(allow_null=True, help_text="The walk in begins")
    hunt_from = LocalInstantField(allow_null=True)
    hunt_until = LocalInstantField(allow_null=True)
    exit_until = LocalInstantField(allow_null=True, help_text="The walk out is done")
    reason = serializers.CharField(allow_null=True, help_text="Why there is no session")


class SessionDaySerializer(serializers.Serializer[Any]):
    """A day's sun, the shooting light that the settings allow, and its sessions."""

    local_date = serializers.DateField()
    sunrise = LocalInstantField(allow_null=True)
    sunset = LocalInstantField(allow_null=True)
    shooting_light_from = LocalInstantField(allow_null=True)
    shooting_light_until = LocalInstantField(allow_null=True)
    sessions = SessionSerializer(many=True)


class PropertySessionsSerializer(serializers.Serializer[Any]):
    property = serializers.UUIDField()
    time_zone = serializers.CharField()
    notice = serializers.CharField()
    days = SessionDaySerializer(many=True)


class PropertySessionsViewSet(ActorViewSet):
    """Sessions by the sun at the property and by its settings."""

    tag = "sessions"
    needs = {"sessions": Action.SESSION_READ}
    serializer_class = PropertySessionsSerializer
    filter_backends = []
    pagination_class = None

    @extend_schema(parameters=[DatesSerializer], responses=PropertySessionsSerializer)
    @action(detail=True)
    def sessions(self, request: Request, pk: str) -> Response:
        """Sun, shooting light, and morning and evening of each local date."""
        land = self.find(properties_visible_to(actor=self.actor), pk)
        self.actor.require(self.needed, land.id)
        first_on, last_on = self._dates(land)
        return Response(
            {
                "property": land.id,
                "time_zone": land.time_zone,
                "notice": NOTICE,
                "days": list(_days(land, first_on, last_on)),
            }
        )

    def _dates(self, land: Property) -> tuple[date, date]:
        asked = read_query(self, DatesSerializer)
        today = local_date_on(land, self.now)
        first_on: date = asked.get("first_on", today)
        if not EARLIEST_YEAR <= first_on.year <= LATEST_YEAR:
            raise serializers.ValidationError(
                {"first_on": f"Must lie between {EARLIEST_YEAR} and {LATEST_YEAR}."}
            )
        last_on: date = asked.get("last_on", first_on + timedelta(days=USUAL_DAYS - 1))
        if last_on < first_on:
            raise serializers.ValidationError({"last_on": "Must not lie before first_on."})
        if (last_on - first_on).days >= MOST_DAYS:
            raise serializers.ValidationError(
                {"last_on": f"At most {MOST_DAYS} days are told at once."}
            )
        return first_on, last_on


def _days(land: Property, first_on: date, last_on: date) -> Iterable[dict[str, Any]]:
    place = queries.place_of(land)
    settings = queries.settings_by_day(land, first=first_on, last=last_on)
    windows = queries.windows_of(land, first=first_on, last=last_on)

    def local(instant: datetime | None) -> str | None:
        return instant.astimezone(place.zone).isoformat(timespec="seconds") if instant else None

    for day in sun_days(place, first_on, last_on):
        light = shooting_light(day, settings.on(day.local_date))
        keys = [SessionKey(day.local_date, kind) for kind in SessionKind]
        yield {
            "local_date": day.local_date,
            "sunrise": local(day.sunrise),
            "sunset": local(day.sunset),
            "shooting_light_from": local(light.begins_at) if light else None,
            "shooting_light_until": local(light.ends_at) if light else None,
            "sessions": [{"kind": key.kind.value, **_session(windows[key], local)} for key in keys],
        }


def _session(window: SessionWindow | NoSession, local: Any) -> dict[str, str | None]:
    told = {
        name: local(getattr(window, name, None))
        for name in ("approach_from", "hunt_from", "hunt_until", "exit_until")
    }
    return {**told, "reason": window.reason if isinstance(window, NoSession) else None}
