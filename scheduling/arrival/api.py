"""Getting there, over HTTP: a sit's arrival sheet, and the gate codes of its day."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.views import ActorViewSet
from properties.gates.api import NEVER_STORED, ShownCodeSerializer
from scheduling.arrival import queries, services
from scheduling.sits.models import Sit, SitSpan
from scheduling.sits.queries import sits_visible_to


class ParkingSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    longitude = serializers.FloatField()
    latitude = serializers.FloatField()
    vehicles = serializers.IntegerField(allow_null=True, help_text="How many fit")
    notes = serializers.CharField()


class ArrivalGateSerializer(serializers.Serializer[Any]):
    name = serializers.CharField(source="gate.name")
    longitude = serializers.FloatField(source="gate.longitude")
    latitude = serializers.FloatField(source="gate.latitude")
    lock = serializers.CharField(source="gate.lock")
    notes = serializers.CharField(source="gate.notes")
    has_code = serializers.BooleanField(help_text="Its code is asked for apart, on the day")


class BetterWaySerializer(serializers.Serializer[Any]):
    """A mapped access route that suits this wind better, or “ride” for a vehicle.

    No ride where the lease lets no vehicle on the land.
    """

    way = serializers.CharField()
    fit = serializers.FloatField(source="answer.fit")


class SessionWaysSerializer(serializers.Serializer[Any]):
    """The way for one session's wind; null: no known way beats the stand's own."""

    kind = serializers.CharField(help_text="morning or evening")
    fit = serializers.FloatField(allow_null=True, help_text="By the stand's own way")
    main_reason = serializers.CharField()
    approach = BetterWaySerializer(allow_null=True)
    exit = BetterWaySerializer(allow_null=True)


class ArrivalSerializer(serializers.Serializer[Any]):
    """How to get there; no gate code stands in it."""

    sit = serializers.UUIDField()
    property_name = serializers.CharField()
    stand_name = serializers.CharField()
    local_date = serializers.DateField()
    span = serializers.ChoiceField(choices=SitSpan.choices)
    directions = serializers.CharField()
    access_notes = serializers.CharField()
    vehicle_rule = serializers.CharField()
    lease_on_vehicles = serializers.CharField(
        help_text="Whether the lease lets vehicles on the land that day; empty: it says nothing"
    )
    vehicle = serializers.CharField(
        allow_null=True, help_text="As the person entered it; null where you may not know it"
    )
    vehicle_missing = serializers.BooleanField(
        help_text=(
            "true: enter it with the person before going, so that it is known whose it is where "
            "it is parked; no leave to drive on the land"
        )
    )
    parking = ParkingSerializer(many=True)
    gates = ArrivalGateSerializer(many=True)
    codes_notice = serializers.CharField()
    ways = SessionWaysSerializer(
        many=True, allow_null=True, help_text="Null for whoever may not see the map"
    )
    ways_notice = serializers.CharField()


class SitArrivalViewSet(ActorViewSet):
    """How somebody booked gets there, and on the day the codes of the gates."""

    tag = "sits"
    needs = {"arrival": Action.SIT_READ, "gate_codes": Action.GATE_CODE_ON_DAY}
    serializer_class = ArrivalSerializer

    def get_queryset(self) -> QuerySet[Sit]:
        return sits_visible_to(actor=self.actor).select_related(
            "stand", "person", "outfitter", "property__cooperative"
        )

    @extend_schema(responses=ArrivalSerializer)
    @action(detail=True)
    def arrival(self, request: Request, pk: str) -> Response:
        """Directions, parking, vehicle, gates, and the way in and out that suits the wind."""
        sit = self.find(self.get_queryset(), pk)
        # A sit stays one's own after the role has ended; the way there does not.
        self.actor.require(self.needed, sit.property_id)
        sheet = queries.arrival_of(sit, actor=self.actor, now=self.now)
        return Response(ArrivalSerializer(sheet).data)

    @extend_schema(responses=ShownCodeSerializer(many=True))
    @action(detail=True, url_path="gate-codes", pagination_class=None, filter_backends=[])
    def gate_codes(self, request: Request, pk: str) -> Response:
        """The codes of the property's gates, on the property-local day of the sit and no other.

        To the person booked, a guest's host, and managers. Each showing is recorded. An
        outfitter's application is shown none: its client asks the manager.
        """
        sit = self.find(self.get_queryset(), pk)
        shown = services.gate_codes_of(actor=self.actor, sit=sit, now=self.now)
        return Response(ShownCodeSerializer(shown, many=True).data, headers=NEVER_STORED)
