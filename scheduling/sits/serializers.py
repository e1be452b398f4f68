"""A sit as it is told, and the short words sent while it lasts."""

from datetime import datetime, timedelta
from typing import Any

from rest_framework import serializers

from coop.api.fields import LocalInstantField
from coop.api.rows import Computed, Rows
from properties.sessions.kinds import SPAN_WORDS
from properties.sessions.weapons import Weapon
from scheduling.sits.models import Sit

WEAPONS = [(weapon.value, weapon.value) for weapon in Weapon]
ENTERED_LATER = timedelta(minutes=5)
"""A time told more than this after the fact is shown as entered later."""


class SitSerializer(serializers.ModelSerializer[Sit]):
    """A sit as its holder sees it."""

    stand_name = serializers.CharField(source="stand.name", read_only=True)
    person_name = serializers.CharField(source="person.name", read_only=True)
    starts_at = LocalInstantField(place="property", read_only=True)
    ends_at = LocalInstantField(place="property", read_only=True)
    checked_in_at = LocalInstantField(place="property", read_only=True, allow_null=True)
    checked_out_at = LocalInstantField(place="property", read_only=True, allow_null=True)
    back_by = LocalInstantField(place="property", read_only=True, allow_null=True)
    check_in_entered_later = serializers.SerializerMethodField()
    check_out_entered_later = serializers.SerializerMethodField()

    class Meta:
        model = Sit
        fields = [
            "id",
            "property",
            "stand",
            "stand_name",
            "person",
            "person_name",
            "host",
            "outfitter",
            "local_date",
            "span",
            "starts_at",
            "ends_at",
            "state",
            "origin",
            "lock_reason",
            "is_supervising",
            "weapon",
            "fit",
            "sector_per_mille",
            "issue",
            "observed_sector",
            "overrule_reason",
            "checked_in_at",
            "check_in_entered_at",
            "check_in_entered_later",
            "checked_out_at",
            "check_out_entered_at",
            "check_out_entered_later",
            "cancelled_at",
            "cancel_reason",
            "excused_at",
            "back_by",
            "acknowledged_at",
            "acknowledged_by",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = fields
        extra_kwargs = {"span": {"help_text": SPAN_WORDS}}

    def get_check_in_entered_later(self, sit: Sit) -> bool:
        return entered_later(sit.checked_in_at, sit.check_in_entered_at)

    def get_check_out_entered_later(self, sit: Sit) -> bool:
        return entered_later(sit.checked_out_at, sit.check_out_entered_at)


def entered_later(true_at: datetime | None, entered_at: datetime | None) -> bool:
    return bool(true_at and entered_at and entered_at - true_at > ENTERED_LATER)


SIT_ROWS = Rows(
    SitSerializer,
    computed={
        "check_in_entered_later": Computed(entered_later, ("checked_in_at", "check_in_entered_at")),
        "check_out_entered_later": Computed(
            entered_later, ("checked_out_at", "check_out_entered_at")
        ),
    },
)
"""How a sit is told wherever many are."""


class SitReasonSerializer(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=300, required=False, allow_blank=True, default="")


class TrueTimeSerializer(serializers.Serializer[Any]):
    at = serializers.DateTimeField(
        required=False, help_text="The true time, where it is entered later; now when left out"
    )


class TrackingSerializer(serializers.Serializer[Any]):
    back_by = serializers.DateTimeField(help_text="When you will be back at the latest")
