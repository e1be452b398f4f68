"""A sit as it was just booked, with what its day asks for."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from scheduling.sits.briefing_serializers import CautionSerializer
from scheduling.sits.cautions import orange_caution
from scheduling.sits.day_rules import DayRules, day_rules
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.models import Sit
from scheduling.sits.serializers import SitSerializer


class BookedSitSerializer(SitSerializer):
    """A sit as it was just booked, with what its day asks for."""

    cautions = serializers.SerializerMethodField()
    day_rules = serializers.SerializerMethodField(
        help_text="What the property's regulations and lease say of the day, as entered here"
    )
    day_rules_notice = serializers.SerializerMethodField()

    class Meta(SitSerializer.Meta):
        fields = [*SitSerializer.Meta.fields, "cautions", "day_rules", "day_rules_notice"]
        read_only_fields = fields

    _read: DayRules | None = None

    @extend_schema_field(CautionSerializer(many=True))
    def get_cautions(self, sit: Sit) -> Any:
        orange = orange_caution(
            self._rules(sit).orange, regulations_url=sit_settings_of(sit.property).regulations_url
        )
        return CautionSerializer([orange], many=True).data

    def get_day_rules(self, sit: Sit) -> list[str]:
        return list(self._rules(sit).sentences)

    def get_day_rules_notice(self, sit: Sit) -> str:
        return self._rules(sit).notice

    def _rules(self, sit: Sit) -> DayRules:
        """Read once for the one sit that is answered."""
        if self._read is None:
            self._read = day_rules(sit.property, on=sit.local_date)
        return self._read
