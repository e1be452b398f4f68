"""Receivers of events over HTTP: registered, tried, rotated, ended."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import FilterSet
from coop.api.preconditions import edit_matched
from coop.api.views import ActorViewSet
from coop.outbox.webhooks import events, queries, services
from coop.outbox.webhooks.deliveries_api import WebhookDeliverySerializer
from coop.outbox.webhooks.fields import PropertyIdField
from coop.outbox.webhooks.models import DisabledReason, WebhookEndpoint


class WebhookSerializer(serializers.ModelSerializer[WebhookEndpoint]):
    property = serializers.UUIDField(source="property_id", read_only=True)
    registered_by = serializers.CharField(read_only=True, help_text="A person or an application")
    is_own = serializers.SerializerMethodField()
    disabled_reason = serializers.ChoiceField(
        choices=DisabledReason.choices, allow_blank=True, read_only=True
    )

    class Meta:
        model = WebhookEndpoint
        fields = [
            "id",
            "property",
            "url",
            "description",
            "event_types",
            "registered_by",
            "is_own",
            "scopes",
            "version",
            "previous_until",
            "failing_since",
            "last_delivered_at",
            "disabled_at",
            "disabled_reason",
            "retired_at",
            "created_at",
            "updated_at",
        ]
        read_only_fields = fields
        extra_kwargs = {
            "event_types": {"help_text": "Names from /api/v1/webhooks/event-types/"},
            "scopes": {"help_text": "An application's, of the token that registered"},
            "previous_until": {"help_text": "Until when the former secret signs too"},
            "failing_since": {"help_text": "No event has arrived since"},
        }

    def get_is_own(self, endpoint: WebhookEndpoint) -> bool:
        """Whether you registered it: only then you may change it or rotate its secret."""
        return queries.is_registrant(actor=self.context["view"].actor, endpoint=endpoint)


class WebhookChangeSerializer(serializers.Serializer[Any]):
    url = serializers.CharField(max_length=500, help_text="https, on a public address")
    description = serializers.CharField(max_length=200, required=False, allow_blank=True)
    event_types = serializers.ListField(
        child=serializers.CharField(max_length=60), min_length=1, max_length=50
    )


class WebhookInputSerializer(WebhookChangeSerializer):
    property = PropertyIdField(help_text="Whose events are sent")


class WebhookWithSecretSerializer(WebhookSerializer):
    """A receiver with its secret, told this once."""

    secret = serializers.CharField(read_only=True, help_text="`whsec_…`; told once, stored nowhere")

    class Meta(WebhookSerializer.Meta):
        fields = [*WebhookSerializer.Meta.fields, "secret"]
        read_only_fields = fields


class EventTypeSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    description = serializers.CharField()
    tells = serializers.ListField(child=serializers.CharField(), help_text="Ids in `data`")
    needs = serializers.CharField(help_text="The permission that a registrant holds")


class WebhookFilter(FilterSet):
    property = django_filters.UUIDFilter(field_name="property_id")
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
    )
    disabled = django_filters.BooleanFilter(
        field_name="disabled_at", lookup_expr="isnull", exclude=True
    )

    class Meta:
        model = WebhookEndpoint
        fields: list[str] = []


class WebhookViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Receivers of a property's events, by Standard Webhooks 1.0.0.

    A person sees all of the properties they manage, an application its own. An event tells ids
    only, and only of what its registrant may read at the moment it is sent.
    """

    tag = "webhooks"
    needs = {
        "list": Action.WEBHOOK_READ,
        "retrieve": Action.WEBHOOK_READ,
        "event_types": Action.WEBHOOK_READ,
        "create": Action.WEBHOOK_WRITE,
        "partial_update": Action.WEBHOOK_WRITE,
        "rotate_secret": Action.WEBHOOK_WRITE,
        "send_test": Action.WEBHOOK_WRITE,
        "enable": Action.WEBHOOK_WRITE,
        "retire": Action.WEBHOOK_WRITE,
    }
    serializer_class = WebhookSerializer
    filterset_class = WebhookFilter

    def get_queryset(self) -> QuerySet[WebhookEndpoint]:
        return queries.endpoints_visible_to(actor=self.actor)

    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(self.find(self.get_queryset(), pk))

    @extend_schema(responses=EventTypeSerializer(many=True), filters=False)
    @action(detail=False, url_path="event-types", pagination_class=None, filter_backends=[])
    def event_types(self, request: Request) -> Response:
        """Every type of event, what it tells, and who may hear it."""
        self.require_somewhere()
        return Response(EventTypeSerializer(events.event_types(), many=True).data)

    @extend_schema(
        request=WebhookInputSerializer,
        responses={201: WebhookWithSecretSerializer},
        examples=[
            OpenApiExample(
                "Sits and closed stands",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000002",
                    "url": "https://hooks.example.org/cooperative",
                    "description": "Lodge calendar",
                    "event_types": ["sit.booked", "sit.changed", "sit.cancelled", "stand.closed"],
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Register a receiver; its secret is told in this answer only."""
        fields = self.read(WebhookInputSerializer)
        endpoint, secret = services.register_endpoint(
            actor=self.actor, property_id=fields.pop("property"), fields=fields, now=self.now
        )
        location = f"/api/v1/webhooks/{endpoint.id}/"
        return self._told_once(endpoint, secret, status=201, location=location)

    @extend_schema(request=WebhookChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change your own receiver's address or types of events (`If-Match` needed)."""
        endpoint = self.find(self.get_queryset(), pk)
        changes = self.read(WebhookChangeSerializer, partial=True)
        return self.answer(
            edit_matched(
                request=request,
                row=endpoint,
                edit=lambda locked: services.change_endpoint(
                    actor=self.actor, endpoint=locked, changes=changes, now=self.now
                ),
            )
        )

    @extend_schema(request=None, responses=WebhookWithSecretSerializer)
    @action(detail=True, methods=["post"], url_path="rotate-secret")
    def rotate_secret(self, request: Request, pk: str) -> Response:
        """Give your own receiver a new secret; the former one signs too for a day."""
        endpoint, secret = services.rotate_secret(
            actor=self.actor, endpoint=self.find(self.get_queryset(), pk), now=self.now
        )
        return self._told_once(endpoint, secret)

    @extend_schema(request=None, responses={202: WebhookDeliverySerializer})
    @action(detail=True, methods=["post"], url_path="test")
    def send_test(self, request: Request, pk: str) -> Response:
        """Send your own receiver a `webhook.test` event; the answer is its delivery to poll."""
        delivery = services.send_test(
            actor=self.actor, endpoint=self.find(self.get_queryset(), pk), now=self.now
        )
        return Response(
            WebhookDeliverySerializer(delivery).data,
            status=202,
            headers={"Location": f"/api/v1/webhook-deliveries/{delivery.id}/"},
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def enable(self, request: Request, pk: str) -> Response:
        """Send again to a receiver that was disabled; replay what it missed one by one."""
        endpoint = self.find(self.get_queryset(), pk)
        return self.answer(
            services.enable_endpoint(actor=self.actor, endpoint=endpoint, now=self.now)
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """End a receiver for good; nothing that waits is sent."""
        endpoint = self.find(self.get_queryset(), pk)
        return self.answer(
            services.retire_endpoint(actor=self.actor, endpoint=endpoint, now=self.now)
        )

    def _told_once(
        self, endpoint: WebhookEndpoint, secret: str, *, status: int = 200, location: str = ""
    ) -> Response:
        answer = self.answer(endpoint, status=status, location=location or None)
        answer.data |= {"secret": secret}
        answer.headers["Cache-Control"] = "no-store"
        return answer
