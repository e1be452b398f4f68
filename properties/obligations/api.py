"""Dues and work days over HTTP."""

from decimal import Decimal
from typing import Any

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
from properties.land.queries import properties_visible_to
from properties.land.year_fields import SeasonYearField
from properties.obligations import queries, services
from properties.obligations.models import Due, WorkDay
from properties.people.queries import persons_visible_to


class DueSerializer(serializers.ModelSerializer[Due]):
    """A year's dues of one person, for that person and the coordinator."""

    person = VisibleField(persons_visible_to)
    name = serializers.CharField(source="person.name", read_only=True)
    season_year = SeasonYearField(help_text="The calendar year in which that year begins")
    amount = serializers.DecimalField(
        max_digits=9, decimal_places=2, min_value=Decimal(0), help_text="0: nothing is owed"
    )

    class Meta:
        model = Due
        fields = [
            "id",
            "person",
            "name",
            "season_year",
            "amount",
            "currency",
            "due_on",
            "paid_on",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "created_at", "updated_at"]


class DueChangeSerializer(DueSerializer):
    """Dues stay with their person and year."""

    person = VisibleField(persons_visible_to, read_only=True)
    season_year = SeasonYearField(read_only=True)


class WorkDaySerializer(serializers.ModelSerializer[WorkDay]):
    person = VisibleField(persons_visible_to)
    name = serializers.CharField(source="person.name", read_only=True)
    property = VisibleField(properties_visible_to)
    hours = serializers.DecimalField(
        max_digits=4, decimal_places=2, min_value=Decimal("0.25"), max_value=Decimal(24)
    )

    class Meta:
        model = WorkDay
        fields = [
            "id",
            "person",
            "name",
            "property",
            "worked_on",
            "hours",
            "what",
            "withdrawn_at",
            "version",
            "created_at",
        ]
        read_only_fields = ["id", "withdrawn_at", "version", "created_at"]


class WithdrawWorkSerializer(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=300, required=False, allow_blank=True, default="")


class DueFilter(FilterSet):
    person = django_filters.UUIDFilter(field_name="person_id")
    is_paid = django_filters.BooleanFilter(field_name="paid_on", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Due
        fields = ["season_year"]


class WorkDayFilter(FilterSet):
    person = django_filters.UUIDFilter(field_name="person_id")
    since = django_filters.DateFilter(field_name="worked_on", lookup_expr="gte")
    until = django_filters.DateFilter(field_name="worked_on", lookup_expr="lte")

    class Meta:
        model = WorkDay
        fields = ["property"]


class DueViewSet(mixins.ListModelMixin, DetailViewSet):
    """Dues: read by whoever owes them and by the coordinator, and by nobody else."""

    tag = "people"
    needs = {
        "list": Action.DUE_READ,
        "retrieve": Action.DUE_READ,
        "create": Action.DUE_WRITE,
        "partial_update": Action.DUE_WRITE,
    }
    serializer_class = DueSerializer
    filterset_class = DueFilter

    def get_queryset(self) -> QuerySet[Due]:
        return queries.dues_visible_to(actor=self.actor).select_related("person")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A year's dues",
                value={
                    "person": "0193a1c2-0000-7000-8000-000000000002",
                    "season_year": 2025,
                    "amount": "450.00",
                    "due_on": "2025-08-01",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Record what somebody owes for a year (coordinators)."""
        fields = self.read(DueSerializer)
        due = services.create_due(
            actor=self.actor, person=fields.pop("person"), fields=fields, now=self.now
        )
        return self.answer(due, status=201, location=f"/api/v1/dues/{due.id}/")

    @extend_schema(request=DueChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Say when it was paid, or change what is owed (coordinators; `If-Match` needed)."""
        due = self.find(self.get_queryset(), pk)
        changes = self.read(DueChangeSerializer, partial=True)
        return self.answer_edit(
            due,
            lambda locked: services.change_due(
                actor=self.actor, due=locked, changes=changes, now=self.now
            ),
        )


class WorkDayViewSet(mixins.ListModelMixin, DetailViewSet):
    """Work done by members: who, where, how long, on what."""

    tag = "people"
    needs = {
        "list": Action.WORK_DAY_READ,
        "retrieve": Action.WORK_DAY_READ,
        "create": Action.WORK_DAY_WRITE,
        "withdraw": Action.WORK_DAY_WRITE,
    }
    serializer_class = WorkDaySerializer
    filterset_class = WorkDayFilter

    def get_queryset(self) -> QuerySet[WorkDay]:
        return queries.work_days_visible_to(actor=self.actor).select_related("person", "property")

    @extend_schema(
        examples=[
            OpenApiExample(
                "Half a day",
                value={
                    "person": "0193a1c2-0000-7000-8000-000000000002",
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "worked_on": "2025-08-16",
                    "hours": "4.5",
                    "what": "Mowed the lanes and mended the gate",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Record work that somebody did (managers)."""
        fields = self.read(WorkDaySerializer)
        work = services.record_work_day(
            actor=self.actor,
            land=fields.pop("property"),
            person=fields.pop("person"),
            fields=fields,
            now=self.now,
        )
        return self.answer(work, status=201, location=f"/api/v1/work-days/{work.id}/")

    @extend_schema(request=WithdrawWorkSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, pk: str) -> Response:
        """It was entered in error and counts no more (managers)."""
        work = self.find(self.get_queryset(), pk)
        reason = self.read(WithdrawWorkSerializer)["reason"]
        return self.answer(
            services.withdraw_work_day(actor=self.actor, work=work, reason=reason, now=self.now)
        )
