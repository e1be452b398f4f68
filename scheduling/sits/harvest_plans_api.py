"""Plans of harvest over HTTP."""

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.views import DetailViewSet
from scheduling.sits import harvest_plan_services, queries
from scheduling.sits.harvest_serializers import HarvestPlanChangeSerializer, HarvestPlanSerializer
from scheduling.sits.models import HarvestPlan


class HarvestPlanFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="property_id")

    class Meta:
        model = HarvestPlan
        fields = ["season_year", "harvest_class", "sex"]


class HarvestPlanViewSet(mixins.ListModelMixin, DetailViewSet):
    """What a property plans to take in a season's year. It is the property's plan, not the law."""

    tag = "harvest"
    needs = {
        "list": Action.HARVEST_READ,
        "retrieve": Action.HARVEST_READ,
        "create": Action.SIT_MANAGE,
        "partial_update": Action.SIT_MANAGE,
        "destroy": Action.SIT_MANAGE,
    }
    serializer_class = HarvestPlanSerializer
    filterset_class = HarvestPlanFilter

    def get_queryset(self) -> QuerySet[HarvestPlan]:
        return queries.harvest_plans_visible_to(actor=self.actor)

    @extend_schema(
        examples=[
            OpenApiExample(
                "Eight does",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "season_year": 2025,
                    "harvest_class": "antlerless",
                    "planned": 8,
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Plan a number for a class (managers)."""
        fields = self.read(HarvestPlanSerializer)
        plan = harvest_plan_services.create_plan(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(plan, status=201, location=f"/api/v1/harvest-plans/{plan.id}/")

    @extend_schema(request=HarvestPlanChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Plan another number, or keep places or none (managers; `If-Match` needed)."""
        plan = self.find(self.get_queryset(), pk)
        changes = self.read(HarvestPlanChangeSerializer)
        return self.answer_edit(
            plan,
            lambda locked: harvest_plan_services.change_plan(
                actor=self.actor, plan=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(responses={204: None})
    def destroy(self, request: Request, pk: str) -> Response:
        """Take a plan out; the audit record keeps what it said (managers)."""
        plan = self.find(self.get_queryset(), pk)
        harvest_plan_services.delete_plan(actor=self.actor, plan=plan, now=self.now)
        return Response(status=204)
