"""The log of deliveries over HTTP: what was sent, each attempt's status, and sending again."""

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import FilterSet
from coop.api.views import ActorViewSet
from coop.outbox.webhooks import queries, services
from coop.outbox.webhooks.models import DeliveryAttempt, DeliveryState, WebhookDelivery


class DeliveryAttemptSerializer(serializers.ModelSerializer[DeliveryAttempt]):
    class Meta:
        model = DeliveryAttempt
        fields = ["number", "attempted_at", "duration_ms", "outcome", "status"]
        read_only_fields = fields


class WebhookDeliverySerializer(serializers.ModelSerializer[WebhookDelivery]):
    webhook = serializers.UUIDField(source="endpoint_id", read_only=True)
    message_id = serializers.CharField(read_only=True, help_text="The header `webhook-id`")

    class Meta:
        model = WebhookDelivery
        fields = [
            "id",
            "webhook",
            "message_id",
            "type",
            "data",
            "occurred_at",
            "state",
            "attempts",
            "due_at",
            "finished_at",
            "created_at",
        ]
        read_only_fields = fields


class WebhookDeliveryLogSerializer(WebhookDeliverySerializer):
    """A delivery with its attempts; no body of an answer is kept."""

    attempt_log = serializers.SerializerMethodField()

    class Meta(WebhookDeliverySerializer.Meta):
        fields = [*WebhookDeliverySerializer.Meta.fields, "attempt_log"]
        read_only_fields = fields

    @extend_schema_field(DeliveryAttemptSerializer(many=True))
    def get_attempt_log(self, delivery: WebhookDelivery) -> list[dict[str, object]]:
        rows = delivery.attempt_log.order_by("number")
        return list(DeliveryAttemptSerializer(rows, many=True).data)


class WebhookDeliveryFilter(FilterSet):
    webhook = django_filters.UUIDFilter(field_name="endpoint_id")
    state = django_filters.MultipleChoiceFilter(choices=DeliveryState.choices)

    class Meta:
        model = WebhookDelivery
        fields = ["type"]


class WebhookDeliveryViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """What was sent to which receiver, and how it went; kept for thirty days."""

    tag = "webhooks"
    needs = {
        "list": Action.WEBHOOK_READ,
        "retrieve": Action.WEBHOOK_READ,
        "replay": Action.WEBHOOK_WRITE,
    }
    serializer_class = WebhookDeliverySerializer
    filterset_class = WebhookDeliveryFilter
    page_order = ("-created_at", "-id")

    def get_queryset(self) -> QuerySet[WebhookDelivery]:
        return queries.deliveries_visible_to(actor=self.actor)

    @extend_schema(responses=WebhookDeliveryLogSerializer)
    def retrieve(self, request: Request, pk: str) -> Response:
        """One delivery with the time, duration, outcome and status of each attempt."""
        delivery = self.find(self.get_queryset(), pk)
        return Response(WebhookDeliveryLogSerializer(delivery).data)

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def replay(self, request: Request, pk: str) -> Response:
        """Send an event again with the same id and body, whatever became of it before."""
        delivery = self.find(self.get_queryset().select_related("endpoint"), pk)
        return self.answer(services.replay(actor=self.actor, delivery=delivery, now=self.now))
