"""Regulations as a property's settings over HTTP: entered by managers, shown to everybody."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import FilterSet, KnownParametersFilter
from coop.api.views import DetailViewSet
from properties.regulations import queries, services
from properties.regulations.kinds import RegulationKind
from properties.regulations.models import Regulation
from properties.regulations.serializers import (
    InForceSerializer,
    OnADaySerializer,
    RegulationChangeSerializer,
    RegulationSerializer,
    WithdrawRegulationSerializer,
)


class RegulationFilter(FilterSet):
    kind = django_filters.MultipleChoiceFilter(
        choices=[(kind.value, kind.value) for kind in RegulationKind]
    )
    on = django_filters.DateFilter(
        method="covering", help_text="in force, and not withdrawn, on this local date"
    )

    class Meta:
        model = Regulation
        fields = ["property"]

    def covering(self, rows: QuerySet[Regulation], _name: str, value: Any) -> QuerySet[Regulation]:
        return rows.filter(
            Q(last_on=None) | Q(last_on__gte=value), first_on__lte=value, withdrawn_at=None
        )


class RegulationViewSet(mixins.ListModelMixin, DetailViewSet):
    """What managers read on their state's page and entered for a property, by date.

    The property's settings, not legal advice: read the state's page. No figure of law is built in.
    """

    tag = "regulations"
    needs = {
        "list": Action.REGULATION_READ,
        "retrieve": Action.REGULATION_READ,
        "in_force": Action.REGULATION_READ,
        "create": Action.REGULATION_WRITE,
        "partial_update": Action.REGULATION_WRITE,
        "confirm": Action.REGULATION_WRITE,
        "withdraw": Action.REGULATION_WRITE,
    }
    serializer_class = RegulationSerializer
    filterset_class = RegulationFilter
    page_order = ("-first_on", "-id")

    @property
    def extra_parameters(self) -> tuple[str, ...]:
        return ("property", "on") if self.action == "in_force" else ()

    def get_queryset(self) -> QuerySet[Regulation]:
        return queries.regulations_visible_to(actor=self.actor).select_related("property")

    @extend_schema(parameters=[OnADaySerializer], responses=InForceSerializer)
    @action(
        detail=False,
        url_path="in-force",
        filter_backends=[KnownParametersFilter],
        filterset_class=None,
        pagination_class=None,
    )
    def in_force(self, request: Request) -> Response:
        """Everything entered for a property that holds on a local date, in one answer."""
        self.filter_queryset(self.get_queryset())
        asked = OnADaySerializer(data=request.query_params, context=self.get_serializer_context())
        asked.is_valid(raise_exception=True)
        land = asked.validated_data["property"]
        self.actor.require(self.needed, land.id)
        found = queries.in_force(land, on=asked.validated_data["on"])
        return Response(InForceSerializer(found, context=self.get_serializer_context()).data)

    @extend_schema(
        examples=[
            OpenApiExample(
                "No cameras that send, until further notice",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "kind": "cameras",
                    "value": {"cameras": "not_transmitting"},
                    "first_on": "2025-09-01",
                    "source_url": "https://state.example/regulations/cameras",
                },
                request_only=True,
            ),
            OpenApiExample(
                "A disease area",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "kind": "disease_area",
                    "value": {
                        "area": "Invented Creek management area",
                        "sampling_first_on": "2025-11-08",
                        "sampling_last_on": "2025-11-09",
                        "carcass_transport": "Head and spine stay in the county.",
                    },
                    "first_on": "2025-09-01",
                    "last_on": "2026-02-28",
                    "source_url": "https://state.example/regulations/disease",
                },
                request_only=True,
            ),
        ]
    )
    def create(self, request: Request) -> Response:
        """Enter a value with the page it was read on (managers)."""
        fields = self.read(RegulationSerializer)
        regulation = services.enter_regulation(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(regulation, status=201, location=f"/api/v1/regulations/{regulation.id}/")

    @extend_schema(request=RegulationChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Correct a value, its dates or its page (managers; `If-Match` needed)."""
        regulation = self.find(self.get_queryset(), pk)
        changes = self.read(RegulationChangeSerializer, partial=True)
        return self.answer_edit(
            regulation,
            lambda locked: services.change_regulation(
                actor=self.actor, regulation=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def confirm(self, request: Request, pk: str) -> Response:
        """You read the state's page again, and the value stands as it is (managers)."""
        regulation = self.find(self.get_queryset(), pk)
        return self.answer(
            services.confirm_regulation(actor=self.actor, regulation=regulation, now=self.now)
        )

    @extend_schema(request=WithdrawRegulationSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, pk: str) -> Response:
        """It was entered in error; it counts for nothing any more (managers)."""
        regulation = self.find(self.get_queryset(), pk)
        fields = self.read(WithdrawRegulationSerializer)
        return self.answer(
            services.withdraw_regulation(
                actor=self.actor, regulation=regulation, now=self.now, **fields
            )
        )
