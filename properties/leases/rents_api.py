"""Rent and its dates over HTTP: records, no accounting."""

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import FilterSet
from coop.api.views import DetailViewSet
from properties.leases import queries, services
from properties.leases.models import Rent


class RentSerializer(serializers.ModelSerializer[Rent]):
    lease = VisibleField(queries.leases_visible_to)
    property = serializers.UUIDField(source="lease.property_id", read_only=True)
    amount = serializers.DecimalField(
        max_digits=12, decimal_places=2, min_value=0, coerce_to_string=True
    )
    currency = serializers.RegexField(
        r"^[A-Z]{3}$", help_text="Three letters as in ISO 4217, such as USD"
    )
    paid_on = serializers.DateField(
        required=False, allow_null=True, help_text="Null while it is not paid"
    )

    class Meta:
        model = Rent
        fields = [
            "id",
            "lease",
            "property",
            "amount",
            "currency",
            "due_on",
            "paid_on",
            "notes",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "created_at", "updated_at"]


class RentChangeSerializer(RentSerializer):
    """Rent stays with its lease."""

    lease = VisibleField(queries.leases_visible_to, read_only=True)


class RentFilter(FilterSet):
    property = django_filters.UUIDFilter(field_name="lease__property_id")
    due_until = django_filters.DateFilter(field_name="due_on", lookup_expr="lte")
    paid = django_filters.BooleanFilter(field_name="paid_on", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Rent
        fields = ["lease"]


class RentViewSet(mixins.ListModelMixin, DetailViewSet):
    """Sums due under a lease: read by whoever keeps the lease, and by its landowner."""

    tag = "leases"
    needs = {
        "list": Action.LEASE_READ,
        "retrieve": Action.LEASE_READ,
        "create": Action.LEASE_WRITE,
        "partial_update": Action.LEASE_WRITE,
    }
    serializer_class = RentSerializer
    filterset_class = RentFilter
    page_order = ("due_on", "id")

    def get_queryset(self) -> QuerySet[Rent]:
        return queries.rents_visible_to(actor=self.actor).select_related("lease")

    @extend_schema(
        examples=[
            OpenApiExample(
                "Half a year",
                value={
                    "lease": "0193a1c2-0000-7000-8000-000000000009",
                    "amount": "2400.00",
                    "currency": "USD",
                    "due_on": "2026-02-01",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Enter a sum that is due."""
        fields = self.read(RentSerializer)
        rent = services.enter_rent(
            actor=self.actor, lease=fields.pop("lease"), fields=fields, now=self.now
        )
        return self.answer(rent, status=201, location=f"/api/v1/rents/{rent.id}/")

    @extend_schema(request=RentChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Correct it, or say when it was paid (`If-Match` needed)."""
        rent = self.find(self.get_queryset(), pk)
        changes = self.read(RentChangeSerializer, partial=True)
        return self.answer_edit(
            rent,
            lambda locked: services.change_rent(
                actor=self.actor, rent=locked, changes=changes, now=self.now
            ),
        )
