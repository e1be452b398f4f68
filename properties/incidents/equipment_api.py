"""The register of equipment over HTTP."""

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import FilterSet
from coop.api.views import DetailViewSet
from properties.incidents import equipment_services, queries
from properties.incidents.models import Equipment, EquipmentKind, EquipmentState
from properties.land.queries import properties_visible_to
from properties.people.queries import persons_visible_to


class EquipmentSerializer(serializers.ModelSerializer[Equipment]):
    property = VisibleField(properties_visible_to)
    holder = VisibleField(
        persons_visible_to, required=False, allow_null=True, help_text="Who has it"
    )
    theft = VisibleField(
        queries.incidents_managed_by,
        required=False,
        allow_null=True,
        help_text="The incident of the theft: needed for what is stolen, for nothing else",
    )
    holder_name = serializers.CharField(
        source="holder.name", default=None, read_only=True, allow_null=True
    )

    class Meta:
        model = Equipment
        fields = [
            "id",
            "property",
            "kind",
            "name",
            "serial",
            "place_words",
            "state",
            "holder",
            "holder_name",
            "theft",
            "notes",
            "version",
            "retired_at",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "retired_at", "created_at", "updated_at"]
        # The database holds it; the service's answer names the field.
        validators: list[object] = []


class EquipmentChangeSerializer(EquipmentSerializer):
    """A thing stays with its property."""

    property = VisibleField(properties_visible_to, read_only=True)


class EquipmentFilter(FilterSet):
    kind = django_filters.MultipleChoiceFilter(choices=EquipmentKind.choices)
    state = django_filters.MultipleChoiceFilter(choices=EquipmentState.choices)
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
    )

    class Meta:
        model = Equipment
        fields = ["property", "holder", "theft"]


class EquipmentViewSet(mixins.ListModelMixin, DetailViewSet):
    """Ladders, cameras' locks, drivers: where each is, who has it, what is missing or stolen."""

    tag = "incidents"
    needs = {
        "list": Action.EQUIPMENT_READ,
        "retrieve": Action.EQUIPMENT_READ,
        "create": Action.EQUIPMENT_WRITE,
        "partial_update": Action.EQUIPMENT_WRITE,
        "retire": Action.EQUIPMENT_WRITE,
    }
    serializer_class = EquipmentSerializer
    filterset_class = EquipmentFilter
    search_fields = ["name", "serial", "place_words"]
    page_order = ("name", "id")

    def get_queryset(self) -> QuerySet[Equipment]:
        return queries.equipment_visible_to(actor=self.actor).select_related("holder")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A post driver",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "kind": "driver",
                    "name": "Post driver",
                    "serial": "PD-7",
                    "place_words": "barn at the north gate",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Enter a thing in the register."""
        fields = self.read(EquipmentSerializer)
        thing = equipment_services.enter_equipment(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(thing, status=201, location=f"/api/v1/equipment/{thing.id}/")

    @extend_schema(request=EquipmentChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Move, lend, miss or correct it (`If-Match` needed)."""
        thing = self.find(self.get_queryset(), pk)
        changes = self.read(EquipmentChangeSerializer, partial=True)
        return self.answer_edit(
            thing,
            lambda locked: equipment_services.change_equipment(
                actor=self.actor, thing=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Worn out, sold or given up."""
        thing = self.find(self.get_queryset(), pk)
        return self.answer(
            equipment_services.retire_equipment(actor=self.actor, thing=thing, now=self.now)
        )
