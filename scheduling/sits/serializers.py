"""Sits, their booking and their report as they go in and out over HTTP."""

from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from coop.api.fields import VisibleField
from coop.api.rows import Computed, Rows
from properties.people.queries import persons_visible_to
from properties.sessions.kinds import SPAN_WORDS
from properties.sessions.weapons import Weapon
from properties.stands.queries import stands_visible_to
from scheduling.sits.harvest_serializers import ReportedHarvestSerializer
from scheduling.sits.models import (
    AgeClass,
    AlarmSense,
    DeerAlarm,
    DeerSex,
    Sighting,
    Sit,
    SitReport,
    SitSpan,
)

WEAPONS = [(weapon.value, weapon.value) for weapon in Weapon]
ENTERED_LATER = timedelta(minutes=5)
"""A time told more than this after the fact is shown as entered later."""


class SitSerializer(serializers.ModelSerializer[Sit]):
    """A sit as its holder sees it; times with the property's own offset."""

    stand_name = serializers.CharField(source="stand.name", read_only=True)
    person_name = serializers.CharField(source="person.name", read_only=True)
    starts_at = serializers.SerializerMethodField()
    ends_at = serializers.SerializerMethodField()
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

    def get_starts_at(self, sit: Sit) -> datetime:
        return local_instant(sit.starts_at, sit.property.time_zone)

    def get_ends_at(self, sit: Sit) -> datetime:
        return local_instant(sit.ends_at, sit.property.time_zone)

    def get_check_in_entered_later(self, sit: Sit) -> bool:
        return entered_later(sit.checked_in_at, sit.check_in_entered_at)

    def get_check_out_entered_later(self, sit: Sit) -> bool:
        return entered_later(sit.checked_out_at, sit.check_out_entered_at)


def local_instant(instant: datetime, time_zone: str) -> datetime:
    return instant.astimezone(ZoneInfo(time_zone))


def entered_later(true_at: datetime | None, entered_at: datetime | None) -> bool:
    return bool(true_at and entered_at and entered_at - true_at > ENTERED_LATER)


SIT_ROWS = Rows(
    SitSerializer,
    computed={
        "starts_at": Computed(local_instant, ("starts_at", "property__time_zone")),
        "ends_at": Computed(local_instant, ("ends_at", "property__time_zone")),
        "check_in_entered_later": Computed(entered_later, ("checked_in_at", "check_in_entered_at")),
        "check_out_entered_later": Computed(
            entered_later, ("checked_out_at", "check_out_entered_at")
        ),
    },
)
"""How a sit is told wherever many are."""


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
    local_date = serializers.DateField(help_text="The property's local date")
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
        if not 2000 <= value.year <= 2100:
            raise serializers.ValidationError("Must lie between the years 2000 and 2100.")
        return value


class SitReasonSerializer(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=300, required=False, allow_blank=True, default="")


class TrueTimeSerializer(serializers.Serializer[Any]):
    at = serializers.DateTimeField(
        required=False, help_text="The true time, where it is entered later; now when left out"
    )


class TrackingSerializer(serializers.Serializer[Any]):
    back_by = serializers.DateTimeField(help_text="When you will be back at the latest")


class WindQuarterSerializer(serializers.Serializer[Any]):
    quarter = serializers.IntegerField(min_value=1, max_value=4)
    from_deg = serializers.FloatField(min_value=0, max_value=360)
    speed_mps = serializers.FloatField(min_value=0, max_value=60)


class SightingSerializer(serializers.ModelSerializer[Sighting]):
    sex = serializers.ChoiceField(choices=DeerSex.choices, default=DeerSex.UNKNOWN)
    age_class = serializers.ChoiceField(choices=AgeClass.choices, default=AgeClass.UNKNOWN)
    count = serializers.IntegerField(min_value=1, max_value=200)
    distance_m = serializers.FloatField(
        min_value=0, max_value=5_000, required=False, allow_null=True
    )

    class Meta:
        model = Sighting
        fields = ["sex", "age_class", "count", "distance_m"]


class DeerAlarmSerializer(serializers.ModelSerializer[DeerAlarm]):
    sense = serializers.ChoiceField(choices=AlarmSense.choices, default=AlarmSense.UNKNOWN)
    count = serializers.IntegerField(min_value=1, max_value=200)
    distance_m = serializers.FloatField(
        min_value=0, max_value=5_000, required=False, allow_null=True
    )
    bearing_deg = serializers.FloatField(
        min_value=0, max_value=360, required=False, allow_null=True
    )

    class Meta:
        model = DeerAlarm
        fields = ["sense", "count", "happened_at", "distance_m", "bearing_deg", "where"]


class SitReportSerializer(serializers.ModelSerializer[SitReport]):
    wind_felt_quarters = WindQuarterSerializer(many=True, required=False)
    wind_felt_from_deg = serializers.FloatField(
        min_value=0, max_value=360, required=False, allow_null=True
    )
    wind_felt_speed_mps = serializers.FloatField(
        min_value=0, max_value=60, required=False, allow_null=True
    )
    shots = serializers.IntegerField(min_value=0, max_value=100, required=False)
    sightings = SightingSerializer(many=True, required=False)
    alarms = DeerAlarmSerializer(many=True, required=False)

    class Meta:
        model = SitReport
        fields = [
            "id",
            "sit",
            "reported_at",
            "wind_felt_quarters",
            "wind_felt_from_deg",
            "wind_felt_speed_mps",
            "deer_alarmed",
            "shots",
            "stand_condition",
            "stand_unsafe",
            "incident",
            "notes",
            "sightings",
            "alarms",
            "version",
        ]
        read_only_fields = ["id", "sit", "reported_at", "deer_alarmed", "version"]


class SitReportInputSerializer(SitReportSerializer):
    """A report with the deer taken in the sit, each counted against the property's plan."""

    harvests = ReportedHarvestSerializer(many=True, required=False, write_only=True)

    class Meta(SitReportSerializer.Meta):
        fields = [*SitReportSerializer.Meta.fields, "harvests"]


class CautionSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    sentence = serializers.CharField()


class NeighbourSerializer(serializers.Serializer[Any]):
    """Somebody in another stand of the same session: where not to shoot."""

    stand_name = serializers.CharField()
    first_name = serializers.CharField(help_text="Empty where you may not know it")
    bearing_deg = serializers.FloatField(allow_null=True, help_text="Degrees true, from you")
    distance_m = serializers.FloatField()
    in_shooting_arc = serializers.BooleanField()


class BriefedPlaceSerializer(serializers.Serializer[Any]):
    """One plan of harvest as this sit sees it; never a permission."""

    harvest_class = serializers.CharField()
    sex = serializers.CharField(allow_blank=True, help_text="Empty: the class as a whole")
    left = serializers.IntegerField()
    is_yours = serializers.BooleanField(
        allow_null=True, help_text="A place is kept for you; null: none is kept, none is taken"
    )
    sentence = serializers.CharField()


class BriefingSerializer(serializers.Serializer[Any]):
    """What is shown at the stand: cautions, ways, neighbours, light by the settings."""

    cautions = CautionSerializer(many=True)
    conditions = serializers.ListField(
        child=serializers.CharField(),
        help_text="Thunder, fire danger, water and ice that somebody told for this sit",
    )
    route_in = serializers.JSONField(allow_null=True, help_text="GeoJSON LineString")
    route_out = serializers.JSONField(
        allow_null=True, help_text="GeoJSON LineString; null: the way in is walked back"
    )
    arc_from_deg = serializers.FloatField()
    arc_to_deg = serializers.FloatField()
    neighbours = NeighbourSerializer(many=True)
    shooting_light_from = serializers.DateTimeField(allow_null=True)
    shooting_light_until = serializers.DateTimeField(allow_null=True)
    light_notice = serializers.CharField()
    day_rules = serializers.ListField(
        child=serializers.CharField(),
        help_text="What the property's regulations and lease say of the day, as entered here",
    )
    day_rules_notice = serializers.CharField()
    notes = serializers.ListField(
        child=serializers.CharField(), help_text="What else goes on near the stand right now"
    )
    harvest_places = BriefedPlaceSerializer(
        many=True, help_text="What the property's plan leaves to this sit; empty without a plan"
    )
    harvest_notice = serializers.CharField()


class CheckInAnswerSerializer(serializers.Serializer[Any]):
    sit = SitSerializer()
    briefing = BriefingSerializer(
        allow_null=True, help_text="Null for somebody whose role there has ended"
    )


@extend_schema_field(serializers.DateTimeField(allow_null=True))
class LocalInstantField(serializers.Field[Any, Any, Any, Any]):
    """An instant that already carries the property's offset."""

    def to_representation(self, value: datetime) -> str:
        return value.isoformat()
