"""Messages for a coordinator: what was sent, what is waiting, what could not be delivered."""

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import FilterSet
from coop.api.views import ActorViewSet
from coop.outbox import queries, services
from coop.outbox.models import Message, MessageState


class MessageSerializer(serializers.ModelSerializer[Message]):
    text = serializers.SerializerMethodField(
        help_text="Empty where it holds a secret of its reader, and once it left long ago"
    )

    class Meta:
        model = Message
        fields = [
            "id",
            "recipient",
            "subject",
            "text",
            "state",
            "attempts",
            "error",
            "created_at",
            "due_at",
            "sent_at",
        ]
        read_only_fields = fields

    def get_text(self, message: Message) -> str:
        return "" if message.private else message.text


class MessageFilter(FilterSet):
    state = django_filters.MultipleChoiceFilter(choices=MessageState.choices)

    class Meta:
        model = Message
        fields = ["state", "recipient"]


class MessageViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """E-mail written by the software, and whether it left."""

    tag = "messages"
    needs = {
        "list": Action.MESSAGE_READ,
        "retrieve": Action.MESSAGE_READ,
        "send_again": Action.MESSAGE_SEND,
    }
    serializer_class = MessageSerializer
    filterset_class = MessageFilter
    page_order = ("-created_at", "-id")

    def get_queryset(self) -> QuerySet[Message]:
        return queries.messages_visible_to(actor=self.actor)

    @extend_schema(request=None)
    @action(detail=True, methods=["post"], url_path="send-again")
    def send_again(self, request: Request, pk: str) -> Response:
        """Put a message that could not be delivered back in the queue."""
        message = self.find(self.get_queryset(), pk)
        return self.answer(services.send_again(actor=self.actor, message=message, now=self.now))
