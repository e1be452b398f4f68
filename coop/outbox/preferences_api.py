"""One's own choice of how notices come."""

from typing import Any
from zoneinfo import available_timezones

from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.models import User
from coop.api.problems import NotAllowed
from coop.api.views import ActorViewSet
from coop.outbox import preferences
from coop.outbox.models import NoticePreference


class NoticePreferenceSerializer(serializers.ModelSerializer[NoticePreference]):
    ended = serializers.ListField(
        child=serializers.ChoiceField(choices=list(preferences.SUBSCRIPTIONS)),
        required=False,
        help_text="Subscriptions that are not sent",
    )

    class Meta:
        model = NoticePreference
        fields = [
            "email",
            "channel",
            "time_zone",
            "digest_at",
            "quiet_from",
            "quiet_until",
            "ended",
        ]
        read_only_fields = ["email"]

    def validate_time_zone(self, value: str) -> str:
        if value not in available_timezones():
            raise serializers.ValidationError("Must be a name of the time zone database.")
        return value

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if (attrs.get("quiet_from") is None) != (attrs.get("quiet_until") is None):
            raise serializers.ValidationError(
                {"quiet_until": "Give both ends of the quiet hours, or neither."}
            )
        return attrs


class NoticePreferenceViewSet(ActorViewSet):
    """Each as it comes, once a day, or none; quiet hours. Safety notices come in any case."""

    tag = "messages"
    own_only = ("mine", "set_mine")
    serializer_class = NoticePreferenceSerializer
    queryset = NoticePreference.objects.none()

    @extend_schema(responses=NoticePreferenceSerializer)
    @action(detail=False)
    def mine(self, request: Request) -> Response:
        """How the caller's own notices come."""
        return self.answer(preferences.preference_of(self._email()))

    @extend_schema(
        request=NoticePreferenceSerializer,
        responses=NoticePreferenceSerializer,
        examples=[
            OpenApiExample(
                "One letter a day, quiet at night",
                value={
                    "channel": "digest",
                    "time_zone": "America/Chicago",
                    "digest_at": "07:00:00",
                    "quiet_from": "21:00:00",
                    "quiet_until": "06:00:00",
                    "ended": [],
                },
                request_only=True,
            )
        ],
    )
    @mine.mapping.put
    def set_mine(self, request: Request) -> Response:
        """Choose; what is left out becomes what it is for somebody who never chose."""
        chosen = self.read(NoticePreferenceSerializer)
        unsaid = NoticePreference()
        fields = {name: chosen.get(name, getattr(unsaid, name)) for name in preferences.FIELDS}
        return self.answer(preferences.set_preference(email=self._email(), fields=fields))

    def _email(self) -> str:
        user = self.request.user
        if not isinstance(user, User):
            raise NotAllowed("Applications get no notices.")
        return user.email
