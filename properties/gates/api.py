"""Gates over HTTP; managers set their codes and see who read them."""

from typing import Any

from django.db.models import F, QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import FilterSet
from coop.api.problems import NotFound
from coop.api.views import DetailViewSet
from properties.gates import queries, services
from properties.gates.models import Gate, GateCode
from properties.land.local_dates import local_date_on
from properties.land.queries import properties_visible_to

NEVER_STORED = {"Cache-Control": "no-store"}
_KEPT = ["version", "created_at", "updated_at"]


class GateSerializer(serializers.ModelSerializer[Gate]):
    """A gate without its code."""

    property = VisibleField(properties_visible_to)
    longitude = serializers.FloatField(min_value=-180, max_value=180)
    latitude = serializers.FloatField(min_value=-90, max_value=90)

    class Meta:
        model = Gate
        fields = [
            *("id", "property", "name", "longitude", "latitude", "lock", "notes"),
            *("retired_at", *_KEPT),
        ]
        read_only_fields = ["id", "retired_at", *_KEPT]


class GateChangeSerializer(GateSerializer):
    property = VisibleField(properties_visible_to, read_only=True)


class NewCodeSerializer(serializers.Serializer[Any]):
    code = serializers.CharField(max_length=services.LONGEST_CODE, trim_whitespace=False)
    holds_from = serializers.DateField(help_text="The property's local date from which it opens")


class GateCodeSerializer(serializers.ModelSerializer[GateCode]):
    """That there is a code from a date on, and who entered it; not the code."""

    class Meta:
        model = GateCode
        fields = ["id", "gate", "holds_from", "entered_by", "replaced_at", "created_at"]
        read_only_fields = fields


class ShownCodeSerializer(serializers.Serializer[Any]):
    gate = serializers.UUIDField(source="gate.id")
    gate_name = serializers.CharField(source="gate.name")
    code = serializers.CharField()
    holds_from = serializers.DateField()


class CodeReadingSerializer(serializers.Serializer[Any]):
    """Somebody was shown a code; nobody can change or delete this."""

    read_at = serializers.DateTimeField(source="recorded_at")
    reader = serializers.CharField(source="actor_name")
    code = serializers.UUIDField(source="object_id", help_text="Which code, by its id")
    why = serializers.CharField(source="reason")


class OfPropertyFilter(FilterSet):
    class Meta:
        model = Gate
        fields = ["property"]


class GateViewSet(mixins.ListModelMixin, DetailViewSet):
    """Gates of a property. Their codes are shown on the day to those booked, and to managers."""

    tag = "land"
    needs = {
        "list": Action.GATE_READ,
        "retrieve": Action.GATE_READ,
        "create": Action.GATE_WRITE,
        "partial_update": Action.GATE_WRITE,
        "retire": Action.GATE_WRITE,
        "code": Action.GATE_CODE_READ,
        "set_code": Action.GATE_WRITE,
        "codes": Action.GATE_CODE_READ,
        "readings": Action.GATE_CODE_READ,
    }
    serializer_class = GateSerializer
    filterset_class = OfPropertyFilter
    page_order = ("name", "id")

    def get_queryset(self) -> QuerySet[Gate]:
        return queries.gates_visible_to(actor=self.actor).select_related("property")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A gate with a code",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "name": "South gate",
                    "longitude": -91.49,
                    "latitude": 43.2,
                    "lock": "code",
                    "notes": "Close it behind you; cattle.",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Enter a gate (managers); its code is set apart from it."""
        row = Gate(**self.read(GateSerializer))
        gate = services.add(actor=self.actor, row=row, now=self.now)
        return self.answer(gate, status=201, location=f"/api/v1/gates/{gate.id}/")

    @extend_schema(request=GateChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a gate (managers; `If-Match` needed)."""
        gate = self.find(self.get_queryset(), pk)
        changes = self.read(GateChangeSerializer, partial=True)
        return self.answer_edit(
            gate,
            lambda locked: services.change(
                actor=self.actor, row=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """It is there no more (managers)."""
        gate = self.find(self.get_queryset(), pk)
        return self.answer(services.retire(actor=self.actor, row=gate, now=self.now))

    @extend_schema(responses=ShownCodeSerializer)
    @action(detail=True)
    def code(self, request: Request, pk: str) -> Response:
        """Today's code (managers); that you read it is recorded. Those booked ask `arrival`."""
        gate = self.find(self.get_queryset(), pk)
        self.actor.require(self.needed, gate.property_id)
        today = local_date_on(gate.property, self.now)
        shown = services.show_codes(
            actor=self.actor,
            land=gate.property,
            gates=[gate],
            on=today,
            why=f"looked up as {queries.keeper_words(self.actor, gate.property_id)}",
            now=self.now,
        )
        if not shown:
            raise NotFound("No code of this gate holds today.")
        return Response(ShownCodeSerializer(shown[0]).data, headers=NEVER_STORED)

    @extend_schema(
        request=NewCodeSerializer,
        responses=GateCodeSerializer,
        examples=[
            OpenApiExample(
                "From Saturday",
                value={"code": "4711", "holds_from": "2025-11-08"},
                request_only=True,
            )
        ],
    )
    @code.mapping.put
    def set_code(self, request: Request, pk: str) -> Response:
        """Set the code that opens it from a date on (managers); the answer does not repeat it."""
        gate = self.find(self.get_queryset(), pk)
        row = services.set_code(
            actor=self.actor, gate=gate, now=self.now, **self.read(NewCodeSerializer)
        )
        return Response(GateCodeSerializer(row).data, headers=NEVER_STORED)

    @extend_schema(responses=GateCodeSerializer(many=True))
    @action(detail=True, pagination_class=None, filter_backends=[])
    def codes(self, request: Request, pk: str) -> Response:
        """Since when which code, and who entered it (managers); never the code itself."""
        gate = self.find(self.get_queryset(), pk)
        self.actor.require(self.needed, gate.property_id)
        rows = gate.codes.order_by("-holds_from", F("replaced_at").desc(nulls_first=True), "id")
        return Response(GateCodeSerializer(rows, many=True).data)

    @extend_schema(responses=CodeReadingSerializer(many=True))
    @action(detail=True, filter_backends=[])
    def readings(self, request: Request, pk: str) -> Response:
        """Who was shown which code and when (managers), the latest first."""
        gate = self.find(self.get_queryset(), pk)
        self.actor.require(self.needed, gate.property_id)
        self.page_order = ("-recorded_at", "-id")
        page = self.paginate_queryset(queries.code_readings_of(gate=gate))
        return self.get_paginated_response(CodeReadingSerializer(page, many=True).data)
