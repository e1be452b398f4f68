"""Who sits on a property on a day, under the names that the reader may know."""

from typing import Any
from zoneinfo import ZoneInfo

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.asking import read_query
from coop.api.fields import LocalInstantField, VisibleField
from coop.api.views import ActorViewSet
from properties.land.queries import properties_visible_to
from scheduling.sits import queries
from scheduling.sits.models import Sit


class RosterQuerySerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    date = serializers.DateField(help_text="The property's local date")


class RosterRowSerializer(serializers.Serializer[Any]):
    """One person on the ground; landowners and managers read full names, members first names."""

    stand = serializers.UUIDField()
    stand_name = serializers.CharField()
    name = serializers.CharField()
    standing = serializers.CharField(help_text="member, guest or client")
    through = serializers.CharField(help_text="A guest's host or a client's outfitter")
    vehicle = serializers.CharField(
        help_text="What is parked for them, where anybody entered it; members read none but "
        "their own"
    )
    is_you = serializers.BooleanField()
    span = serializers.CharField()
    starts_at = LocalInstantField()
    ends_at = LocalInstantField()
    state = serializers.CharField()


class RosterViewSet(ActorViewSet):
    """Who is there. No contact, no other property, never a client's or member's number."""

    tag = "sits"
    needs = {"list": Action.ROSTER_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = RosterRowSerializer

    @extend_schema(parameters=[RosterQuerySerializer], responses=RosterRowSerializer(many=True))
    def list(self, request: Request) -> Response:
        """Everybody's sits on one property and local date, in order of time."""
        asked = read_query(self, RosterQuerySerializer)
        land = asked["property"]
        self.actor.require(self.needed, land.id)
        sits = queries.roster_of(actor=self.actor, property_id=land.id, local_date=asked["date"])
        zone = ZoneInfo(land.time_zone)
        return Response([self._row(sit, zone) for sit in sits])

    def _row(self, sit: Sit, zone: ZoneInfo) -> dict[str, Any]:
        return {
            "stand": sit.stand_id,
            "stand_name": sit.stand.name,
            "name": self._name(sit, sit.person),
            **self._standing(sit),
            "vehicle": self._vehicle(sit),
            "is_you": self.actor.person_id == sit.person_id,
            "span": sit.span,
            "starts_at": sit.starts_at.astimezone(zone),
            "ends_at": sit.ends_at.astimezone(zone),
            "state": sit.state,
        }

    def _standing(self, sit: Sit) -> dict[str, str]:
        if sit.outfitter is not None:
            shown = queries.sees_full_names(actor=self.actor, property_id=sit.property_id)
            return {"standing": "client", "through": sit.outfitter.name if shown else ""}
        if sit.host is not None:
            return {"standing": "guest", "through": self._name(sit, sit.host)}
        return {"standing": "member", "through": ""}

    def _vehicle(self, sit: Sit) -> str:
        is_own = self.actor.is_one_of(sit.person_id, sit.host_id)
        shown = queries.sees_full_names(actor=self.actor, property_id=sit.property_id)
        return queries.vehicle_of(sit) if is_own or shown else ""

    def _name(self, sit: Sit, person: Any) -> str:
        return queries.name_shown(person, actor=self.actor, property_id=sit.property_id)
