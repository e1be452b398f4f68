"""Sits offered by one member to another, over HTTP."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import LocalInstantField, VisibleField
from coop.api.views import DetailViewSet
from properties.people.queries import persons_visible_to
from scheduling.sits import queries, transfer_services
from scheduling.sits.booking_serializers import OverruleCodesField
from scheduling.sits.serializers import WEAPONS, SitReasonSerializer
from scheduling.sits.transfer_models import SitTransfer, TransferState


class SitTransferSerializer(serializers.ModelSerializer[SitTransfer]):
    """An offer of a sit and what became of it."""

    stand_name = serializers.CharField(source="stand.name", read_only=True)
    local_date = serializers.DateField(source="sit.local_date", read_only=True)
    span = serializers.CharField(source="sit.span", read_only=True)
    starts_at = LocalInstantField(place="property", source="sit.starts_at", read_only=True)
    giver_name = serializers.CharField(source="giver.name", read_only=True)
    receiver_name = serializers.CharField(source="receiver.name", read_only=True)

    class Meta:
        model = SitTransfer
        fields = [
            "id",
            "property",
            "sit",
            "stand",
            "stand_name",
            "local_date",
            "span",
            "starts_at",
            "giver",
            "giver_name",
            "receiver",
            "receiver_name",
            "state",
            "message",
            "offered_at",
            "ended_at",
            "answer",
            "version",
        ]
        read_only_fields = fields


class OfferSitSerializer(serializers.Serializer[Any]):
    sit = VisibleField(queries.sits_visible_to, help_text="A booked sit of your own")
    receiver = VisibleField(persons_visible_to, help_text="A member of the property")
    message = serializers.CharField(max_length=300, required=False, allow_blank=True, default="")


class AcceptSitSerializer(serializers.Serializer[Any]):
    weapon = serializers.ChoiceField(
        choices=WEAPONS,
        required=False,
        allow_blank=True,
        help_text="Yours; the giver's does not count. None named: the farthest-reaching one",
    )


class TransferSitSerializer(AcceptSitSerializer):
    """A manager's transfer; ``overrule`` lists codes of rules set aside for the same reason."""

    receiver = VisibleField(persons_visible_to, help_text="A member of the property")
    reason = serializers.CharField(max_length=300)
    overrule = OverruleCodesField(required=False)


class SitTransferFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="property_id")
    sit = django_filters.UUIDFilter(field_name="sit_id")
    giver = django_filters.UUIDFilter(field_name="giver_id")
    receiver = django_filters.UUIDFilter(field_name="receiver_id")
    state = django_filters.MultipleChoiceFilter(choices=TransferState.choices)

    class Meta:
        model = SitTransfer
        fields: list[str] = []


class SitTransferViewSet(mixins.ListModelMixin, DetailViewSet):
    """Offers that you made or were made; a manager's property."""

    tag = "sits"
    needs = {
        "list": Action.SIT_READ,
        "retrieve": Action.SIT_READ,
        "create": Action.SIT_BOOK,
        "accept": Action.SIT_BOOK,
        "decline": Action.SIT_BOOK,
        "withdraw": Action.SIT_BOOK,
    }
    serializer_class = SitTransferSerializer
    filterset_class = SitTransferFilter
    page_order = ("-offered_at", "-id")

    def get_queryset(self) -> QuerySet[SitTransfer]:
        return queries.transfers_visible_to(actor=self.actor).select_related(
            "stand",
            "giver",
            "receiver",
            "property",
            "sit__stand",
            "sit__person",
            "sit__property",
        )

    @extend_schema(
        request=OfferSitSerializer,
        responses={201: SitTransferSerializer},
        examples=[
            OpenApiExample(
                "To a friend",
                value={
                    "sit": "0193a1c2-0000-7000-8000-000000000005",
                    "receiver": "0193a1c2-0000-7000-8000-000000000006",
                    "message": "I have to work that evening.",
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Offer a booked sit of your own to another member; it is yours until they accept."""
        fields = self.read(OfferSitSerializer)
        transfer = transfer_services.offer_sit(actor=self.actor, now=self.now, **fields)
        return self.answer(transfer, status=201, location=f"/api/v1/sit-transfers/{transfer.id}/")

    @extend_schema(
        request=AcceptSitSerializer,
        examples=[OpenApiExample("With a bow", value={"weapon": "bow"}, request_only=True)],
    )
    @action(detail=True, methods=["post"])
    def accept(self, request: Request, pk: str) -> Response:
        """Take the sit over. The house rules judge you as if you booked it; a refusal lists all."""
        transfer = self.find(self.get_queryset(), pk)
        fields = self.read(AcceptSitSerializer)
        return self.answer(
            transfer_services.accept_sit(
                actor=self.actor, transfer=transfer, now=self.now, **fields
            )
        )

    @extend_schema(request=SitReasonSerializer)
    @action(detail=True, methods=["post"])
    def decline(self, request: Request, pk: str) -> Response:
        """Say no; the giver keeps the sit and is told."""
        transfer = self.find(self.get_queryset(), pk)
        fields = self.read(SitReasonSerializer)
        return self.answer(
            transfer_services.decline_sit(
                actor=self.actor, transfer=transfer, now=self.now, **fields
            )
        )

    @extend_schema(request=SitReasonSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, pk: str) -> Response:
        """Take an offer of your own back (also managers)."""
        transfer = self.find(self.get_queryset(), pk)
        fields = self.read(SitReasonSerializer)
        return self.answer(
            transfer_services.withdraw_offer(
                actor=self.actor, transfer=transfer, now=self.now, **fields
            )
        )
