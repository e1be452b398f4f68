"""What is sent to book a seat, by members, managers and outfitters."""

from datetime import date
from typing import Any

from rest_framework import serializers

from coop.api.fields import VisibleField
from properties.land.years import OUTSIDE_YEARS, is_within_years
from properties.people.queries import persons_visible_to
from properties.sessions.kinds import SPAN_WORDS
from properties.stands.queries import stands_visible_to
from scheduling.sits.asking import SessionDateField
from scheduling.sits.models import SitSpan
from scheduling.sits.serializers import WEAPONS


class ClientPaperSerializer(serializers.Serializer[Any]):
    kind = serializers.CharField(max_length=40)
    expires_on = serializers.DateField(required=False, allow_null=True)


class ClientSerializer(serializers.Serializer[Any]):
    """Whom an outfitter books for; the same ``reference`` is the same client."""

    reference = serializers.CharField(max_length=100)
    name = serializers.CharField(max_length=200, help_text="In full, as the landowner is told")
    vehicle = serializers.CharField(
        max_length=120, required=False, allow_blank=True, help_text="Make, colour, plate"
    )
    email = serializers.EmailField(required=False, allow_blank=True)
    phone = serializers.CharField(max_length=40, required=False, allow_blank=True)
    emergency_contact_name = serializers.CharField(max_length=200)
    emergency_contact_phone = serializers.CharField(max_length=40)
    papers = ClientPaperSerializer(many=True, required=False)


class OverruleCodesField(serializers.ListField):
    """Codes of house rules to set aside; safety and access never are."""

    child = serializers.CharField(max_length=60)

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", self.__doc__)
        super().__init__(allow_empty=False, **kwargs)


class OverruleSerializer(serializers.Serializer[Any]):
    codes = OverruleCodesField()
    reason = serializers.CharField(max_length=300)


class BookingSerializer(serializers.Serializer[Any]):
    """A seat asked for: by a member, by a manager for somebody, by an outfitter for a client."""

    stand = VisibleField(stands_visible_to)
    local_date = SessionDateField(help_text="The property's local date")
    span = serializers.ChoiceField(choices=SitSpan.choices, help_text=SPAN_WORDS)
    weapon = serializers.ChoiceField(choices=WEAPONS, required=False, allow_blank=True)
    person = VisibleField(persons_visible_to, required=False, help_text="You, when left out")
    guests = VisibleField(
        persons_visible_to,
        many=True,
        required=False,
        help_text="The person's own guests, and young hunters whom they supervise",
    )
    client = ClientSerializer(required=False, help_text="Outfitters only, and always")
    overrule = OverruleSerializer(required=False, help_text="Managers only")

    def validate_guests(self, guests: list[Any]) -> list[Any]:
        if len({guest.id for guest in guests}) < len(guests):
            raise serializers.ValidationError("Each guest is named once.")
        return guests

    def validate_local_date(self, value: date) -> date:
        if not is_within_years(value):
            raise serializers.ValidationError(OUTSIDE_YEARS)
        return value
