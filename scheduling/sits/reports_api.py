"""Sit reports, harvests and harvest plans over HTTP."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.preconditions import edit_matched
from coop.api.views import ActorViewSet, actor_of_view
from properties.land.queries import properties_visible_to
from properties.people.queries import persons_visible_to
from scheduling.sits import harvest_services, queries
from scheduling.sits.models import Harvest, HarvestClass, HarvestPlan, SitReport
from scheduling.sits.serializers import SitReportSerializer


class SitReportFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="sit__property_id")
    stand = django_filters.UUIDFilter(field_name="sit__stand_id")
    first_on = django_filters.DateFilter(field_name="sit__local_date", lookup_expr="gte")
    last_on = django_filters.DateFilter(field_name="sit__local_date", lookup_expr="lte")

    class Meta:
        model = SitReport
        fields: list[str] = []


class SitReportViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """What was reported of the sits that the caller may see."""

    tag = "sits"
    needs = {"list": Action.SIT_READ, "retrieve": Action.SIT_READ}
    serializer_class = SitReportSerializer
    filterset_class = SitReportFilter
    page_order = ("-reported_at", "-id")

    def get_queryset(self) -> QuerySet[SitReport]:
        sits = queries.sits_visible_to(actor=self.actor)
        return SitReport.objects.filter(sit__in=sits).prefetch_related("sightings", "alarms")

    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(self.find(self.get_queryset(), pk))


class HarvestSerializer(serializers.ModelSerializer[Harvest]):
    """A deer taken. Members know each other by first name; who it was is null to them."""

    null_unless_shown = ("sit", "person")
    property = VisibleField(properties_visible_to)
    sit = VisibleField(queries.sits_visible_to, required=False, allow_null=True)
    person = VisibleField(persons_visible_to, required=False, help_text="You, when left out")
    person_name = serializers.SerializerMethodField()
    dressed_weight_kg = serializers.FloatField(
        min_value=1, max_value=300, required=False, allow_null=True
    )

    class Meta:
        model = Harvest
        fields = [
            "id",
            "property",
            "sit",
            "person",
            "person_name",
            "harvest_class",
            "taken_at",
            "dressed_weight_kg",
            "notes",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "created_at", "updated_at"]

    def get_person_name(self, harvest: Harvest) -> str:
        return queries.name_shown(
            harvest.person,
            actor=actor_of_view(dict(self.context)),
            property_id=harvest.property_id,
        )

    def to_representation(self, instance: Harvest) -> dict[str, Any]:
        shown = super().to_representation(instance)
        actor = actor_of_view(dict(self.context))
        is_own = actor.person_id in (instance.person_id, instance.person.host_id)
        if not (is_own or actor.may(Action.REPORT_READ, instance.property_id)):
            shown |= {**dict.fromkeys(self.null_unless_shown), "notes": ""}
        return shown


class HarvestChangeSerializer(HarvestSerializer):
    """A deer stays with whoever took it, where it was taken."""

    property = VisibleField(properties_visible_to, read_only=True)
    sit = VisibleField(queries.sits_visible_to, read_only=True)
    person = VisibleField(persons_visible_to, read_only=True)


class HarvestFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="property_id")
    harvest_class = django_filters.ChoiceFilter(choices=HarvestClass.choices)
    since = django_filters.IsoDateTimeFilter(field_name="taken_at", lookup_expr="gte")
    until = django_filters.IsoDateTimeFilter(field_name="taken_at", lookup_expr="lt")

    class Meta:
        model = Harvest
        fields: list[str] = []


class HarvestViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Deer taken on a property. They are corrected, never deleted; nothing over plan is hidden."""

    tag = "harvest"
    needs = {
        "list": Action.HARVEST_READ,
        "retrieve": Action.HARVEST_READ,
        "create": Action.SIT_BOOK,
        "partial_update": Action.SIT_BOOK,
    }
    serializer_class = HarvestSerializer
    filterset_class = HarvestFilter
    page_order = ("-taken_at", "-id")

    def get_queryset(self) -> QuerySet[Harvest]:
        return queries.harvests_visible_to(actor=self.actor).select_related(
            "person", "property__cooperative"
        )

    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(self.find(self.get_queryset(), pk))

    @extend_schema(
        examples=[
            OpenApiExample(
                "A doe",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "harvest_class": "antlerless",
                    "taken_at": "2025-11-08T16:55:00-06:00",
                    "dressed_weight_kg": 48,
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Record a deer; over the plan it is recorded all the same, and the manager is told."""
        fields = self.read(HarvestSerializer)
        harvest = harvest_services.record_harvest(
            actor=self.actor,
            land=fields.pop("property"),
            person=fields.pop("person", None),
            sit=fields.pop("sit", None),
            fields=fields,
            now=self.now,
        )
        return self.answer(harvest, status=201, location=f"/api/v1/harvests/{harvest.id}/")

    @extend_schema(request=HarvestChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Correct a record of one's own, or as a manager (`If-Match` needed)."""
        harvest = self.find(self.get_queryset(), pk)
        changes = self.read(HarvestChangeSerializer, partial=True)
        return self.answer(
            edit_matched(
                request=request,
                row=harvest,
                edit=lambda locked: harvest_services.change_harvest(
                    actor=self.actor, harvest=locked, changes=changes, now=self.now
                ),
            )
        )


class HarvestPlanSerializer(serializers.ModelSerializer[HarvestPlan]):
    """How many of a class are planned; `season_year` is the year in which its year begins."""

    property = VisibleField(properties_visible_to)
    season_year = serializers.IntegerField(min_value=2000, max_value=2100)
    planned = serializers.IntegerField(min_value=0, max_value=1_000)

    class Meta:
        model = HarvestPlan
        fields = [
            "id",
            "property",
            "season_year",
            "harvest_class",
            "planned",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "created_at", "updated_at"]


class HarvestPlanChangeSerializer(serializers.Serializer[Any]):
    planned = serializers.IntegerField(min_value=0, max_value=1_000)


class HarvestPlanFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="property_id")

    class Meta:
        model = HarvestPlan
        fields = ["season_year", "harvest_class"]


class HarvestPlanViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
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

    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(self.find(self.get_queryset(), pk))

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
        plan = harvest_services.create_plan(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(plan, status=201, location=f"/api/v1/harvest-plans/{plan.id}/")

    @extend_schema(request=HarvestPlanChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Plan another number (managers; `If-Match` needed)."""
        plan = self.find(self.get_queryset(), pk)
        planned = self.read(HarvestPlanChangeSerializer)["planned"]
        return self.answer(
            edit_matched(
                request=request,
                row=plan,
                edit=lambda locked: harvest_services.change_plan(
                    actor=self.actor, plan=locked, planned=planned, now=self.now
                ),
            )
        )

    @extend_schema(responses={204: None})
    def destroy(self, request: Request, pk: str) -> Response:
        """Take a plan out; the audit record keeps what it said (managers)."""
        plan = self.find(self.get_queryset(), pk)
        harvest_services.delete_plan(actor=self.actor, plan=plan, now=self.now)
        return Response(status=204)
