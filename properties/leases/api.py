"""Leases over HTTP: whole for those who keep them, what is permitted for everybody else."""

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
from coop.api.preconditions import edit_matched
from coop.api.views import ActorViewSet, DetailViewSet
from properties.land.queries import properties_visible_to
from properties.leases import queries, services
from properties.leases.models import Lease
from properties.leases.uses import CameraUse, LeasePeople
from properties.people.queries import persons_visible_to
from properties.people.weapons import Weapon

NOTICE = (
    "As somebody entered it here; the contract that was signed and local law go before it. What "
    "the lease says nothing of is left open here."
)
PERMITTED = (
    "people",
    "most_hunters",
    "weapons",
    "vehicles",
    "vehicles_note",
    "cameras",
    "scents",
    "feed",
)


class PermittedSerializer(serializers.ModelSerializer[Lease]):
    """What a lease permits; null or "" where it says nothing."""

    people = serializers.ListField(
        child=serializers.ChoiceField(choices=[(one.value, one.value) for one in LeasePeople]),
        allow_empty=False,
        help_text="Who may hunt: members, guests, outfitters' clients",
    )
    most_hunters = serializers.IntegerField(
        min_value=1,
        max_value=1_000,
        required=False,
        allow_null=True,
        help_text="Hunters in one session at most",
    )
    weapons = serializers.ListField(
        child=serializers.ChoiceField(choices=[(one.value, one.value) for one in Weapon]),
        required=False,
        allow_null=True,
        help_text="The only weapons permitted",
    )
    vehicles = serializers.BooleanField(
        required=False, allow_null=True, help_text="Whether anybody may drive on the land"
    )
    cameras = serializers.ChoiceField(
        choices=[(one.value, one.value) for one in CameraUse],
        required=False,
        allow_blank=True,
        help_text="Cameras that may hang",
    )
    scents = serializers.ListField(
        child=serializers.CharField(max_length=60),
        required=False,
        allow_null=True,
        help_text="The only scents permitted, by name; an empty list permits none",
    )
    feed = serializers.BooleanField(
        required=False, allow_null=True, help_text="Whether feed or minerals may be put out"
    )
    notice = serializers.SerializerMethodField(help_text="What this is, and is not")

    class Meta:
        model = Lease
        fields = ["id", "property", "first_on", "last_on", *PERMITTED, "notice"]
        read_only_fields = ["id", "property", "first_on", "last_on"]

    def get_notice(self, _lease: Lease) -> str:
        return NOTICE


class LeaseTermsSerializer(PermittedSerializer):
    """Until when a property is leased and what is permitted there, for whoever hunts."""

    class Meta(PermittedSerializer.Meta):
        read_only_fields = PermittedSerializer.Meta.fields


class LeaseSerializer(PermittedSerializer):
    property = VisibleField(properties_visible_to)
    landowner = VisibleField(persons_visible_to)
    landowner_name = serializers.CharField(source="landowner.name", read_only=True)

    class Meta:
        model = Lease
        fields = [
            "id",
            "property",
            "landowner",
            "landowner_name",
            "first_on",
            "last_on",
            "renewal_notice_on",
            "insured_until",
            *PERMITTED,
            "notes",
            "withdrawn_at",
            "notice",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "withdrawn_at", "version", "created_at", "updated_at"]


class LeaseChangeSerializer(LeaseSerializer):
    """A lease stays on its property."""

    property = VisibleField(properties_visible_to, read_only=True)


class WithdrawLeaseSerializer(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=300)


class LeaseFilter(FilterSet):
    on = django_filters.DateFilter(
        method="covering", help_text="in force, and not withdrawn, on this local date"
    )

    class Meta:
        model = Lease
        fields = ["property"]

    def covering(self, rows: QuerySet[Lease], _name: str, value: Any) -> QuerySet[Lease]:
        return rows.filter(first_on__lte=value, last_on__gte=value, withdrawn_at=None)


class LeaseViewSet(mixins.ListModelMixin, DetailViewSet):
    """Leases: term, notice, insurance, and what is permitted.

    Managers and coordinators keep them, a landowner reads their own. What a lease forbids no
    booking, plan, errand or camera can do; a property without any lease is left as it is.
    """

    tag = "leases"
    needs = {
        "list": Action.LEASE_READ,
        "retrieve": Action.LEASE_READ,
        "create": Action.LEASE_WRITE,
        "partial_update": Action.LEASE_WRITE,
        "withdraw": Action.LEASE_WRITE,
    }
    serializer_class = LeaseSerializer
    filterset_class = LeaseFilter
    page_order = ("-first_on", "-id")

    def get_queryset(self) -> QuerySet[Lease]:
        return queries.leases_visible_to(actor=self.actor).select_related("property", "landowner")

    @extend_schema(
        examples=[
            OpenApiExample(
                "Bows only, no cameras that send",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "landowner": "0193a1c2-0000-7000-8000-000000000007",
                    "first_on": "2025-08-01",
                    "last_on": "2026-07-31",
                    "renewal_notice_on": "2026-04-30",
                    "insured_until": "2026-03-31",
                    "people": ["members", "guests"],
                    "most_hunters": 4,
                    "weapons": ["bow", "crossbow"],
                    "vehicles": False,
                    "vehicles_note": "Park at the lower gate.",
                    "cameras": "not_transmitting",
                    "scents": ["synthetic forehead gland"],
                    "feed": False,
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Enter a lease; days that no lease of the property covers are not hunted from then on."""
        fields = self.read(LeaseSerializer)
        lease = services.enter_lease(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(lease, status=201, location=f"/api/v1/leases/{lease.id}/")

    @extend_schema(request=LeaseChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a lease, its term too (`If-Match` needed)."""
        lease = self.find(self.get_queryset(), pk)
        changes = self.read(LeaseChangeSerializer, partial=True)
        return self.answer(
            edit_matched(
                request=request,
                row=lease,
                lock_first=lambda: services.lock_land_of(lease),
                edit=lambda locked: services.change_lease(
                    actor=self.actor, lease=locked, changes=changes, now=self.now
                ),
            )
        )

    @extend_schema(request=WithdrawLeaseSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, pk: str) -> Response:
        """It was entered in error; it counts for nothing any more."""
        lease = self.find(self.get_queryset(), pk)
        fields = self.read(WithdrawLeaseSerializer)
        return self.answer(
            services.withdraw_lease(actor=self.actor, lease=lease, now=self.now, **fields)
        )


class LeaseTermsViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """What the lease of a property permits, and until when: for everybody who hunts there.

    Nothing of rent, notice or insurance.
    """

    tag = "leases"
    needs = {"list": Action.LEASE_TERMS_READ, "retrieve": Action.LEASE_TERMS_READ}
    serializer_class = LeaseTermsSerializer
    filterset_class = LeaseFilter
    page_order = ("-first_on", "-id")

    def get_queryset(self) -> QuerySet[Lease]:
        return queries.lease_terms_visible_to(actor=self.actor)

    def retrieve(self, request: Request, pk: str) -> Response:
        return Response(self.get_serializer(self.find(self.get_queryset(), pk)).data)
