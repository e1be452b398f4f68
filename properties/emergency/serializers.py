"""The sheet, emergencies and medical notes as they go in and out over HTTP."""

from typing import Any

from rest_framework import serializers

from coop.api.fields import LocalInstantField, VisibleField
from properties.emergency.models import Emergency, EmergencySheet, NoteReading, StandEmergency
from properties.emergency.services import LONGEST_NOTE
from properties.land.queries import properties_visible_to
from properties.people.queries import persons_visible_to
from properties.stands.queries import stands_visible_to

_KEPT = ["version", "created_at", "updated_at"]
MOST_KEY_HOLDERS = 20


class KeyHolderSerializer(serializers.Serializer[Any]):
    name = serializers.CharField(max_length=200)
    phone = serializers.CharField(max_length=40, required=False, allow_blank=True, default="")
    keys = serializers.CharField(
        max_length=200, required=False, allow_blank=True, default="", help_text="To what"
    )


class EmergencySheetSerializer(serializers.ModelSerializer[EmergencySheet]):
    """What is entered for a whole property; one for each."""

    property = VisibleField(properties_visible_to)
    key_holders = KeyHolderSerializer(many=True, required=False)

    class Meta:
        model = EmergencySheet
        fields = [
            "id",
            "property",
            "road_address",
            "ambulance_directions",
            "hospital_name",
            "hospital_address",
            "hospital_phone",
            "first_aid_kit",
            "key_holders",
            "notes",
            "checked_on",
            *_KEPT,
        ]
        read_only_fields = ["id", *_KEPT]

    def validate_key_holders(self, holders: list[Any]) -> list[Any]:
        if len(holders) > MOST_KEY_HOLDERS:
            raise serializers.ValidationError(f"At most {MOST_KEY_HOLDERS}.")
        return holders


class EmergencySheetChangeSerializer(EmergencySheetSerializer):
    property = VisibleField(properties_visible_to, read_only=True)


class StandEmergencySerializer(serializers.ModelSerializer[StandEmergency]):
    """What differs at one stand; what is empty is as for the property."""

    stand = VisibleField(stands_visible_to)

    class Meta:
        model = StandEmergency
        fields = ["id", "stand", "road_address", "ambulance_directions", "first_aid_kit", *_KEPT]
        read_only_fields = ["id", *_KEPT]


class StandEmergencyChangeSerializer(StandEmergencySerializer):
    stand = VisibleField(stands_visible_to, read_only=True)


class SheetStandSerializer(serializers.Serializer[Any]):
    stand = serializers.UUIDField()
    stand_name = serializers.CharField()
    latitude = serializers.FloatField()
    longitude = serializers.FloatField()
    decimal_degrees = serializers.CharField(help_text="Latitude first, as it is read out")
    degrees_minutes = serializers.CharField(help_text="Degrees and decimal minutes")
    road_address = serializers.CharField()
    ambulance_directions = serializers.CharField()
    first_aid_kit = serializers.CharField()


class SheetSerializer(serializers.Serializer[Any]):
    """The sheet as it is shown: cautions first, then the property, then every stand."""

    property = serializers.UUIDField()
    property_name = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())
    local_emergency_number = serializers.CharField(help_text="As the property tells it")
    road_address = serializers.CharField()
    ambulance_directions = serializers.CharField()
    hospital_name = serializers.CharField()
    hospital_address = serializers.CharField()
    hospital_phone = serializers.CharField()
    first_aid_kit = serializers.CharField()
    key_holders = KeyHolderSerializer(many=True)
    notes = serializers.CharField()
    checked_on = serializers.DateField(allow_null=True)
    stands = SheetStandSerializer(many=True)


class EmergencySerializer(serializers.ModelSerializer[Emergency]):
    property = VisibleField(properties_visible_to)
    person = VisibleField(persons_visible_to)
    person_name = serializers.CharField(source="person.name", read_only=True)
    declared_at = LocalInstantField(place="property", read_only=True)
    ends_at = LocalInstantField(place="property", read_only=True)
    ended_at = LocalInstantField(place="property", read_only=True, allow_null=True)

    class Meta:
        model = Emergency
        fields = [
            "id",
            "property",
            "person",
            "person_name",
            "declarer_name",
            "why",
            "declared_at",
            "ends_at",
            "ended_at",
            "version",
        ]
        read_only_fields = ["id", "declarer_name", "version"]


class MedicalNoteSerializer(serializers.Serializer[Any]):
    """One's own note for whoever helps: allergies, medicine, what to do and not to do."""

    text = serializers.CharField(max_length=LONGEST_NOTE)


class OwnMedicalNoteSerializer(serializers.Serializer[Any]):
    text = serializers.CharField(allow_null=True, help_text="null: you keep no note")
    updated_at = serializers.DateTimeField(allow_null=True)


class ShownNoteSerializer(serializers.Serializer[Any]):
    person_name = serializers.CharField()
    text = serializers.CharField(
        allow_null=True, help_text="In the person's own words; null: they keep no note"
    )
    emergency_contact_name = serializers.CharField()
    emergency_contact_phone = serializers.CharField()
    caution = serializers.CharField()


class NoteReadingSerializer(serializers.ModelSerializer[NoteReading]):
    """Somebody was shown your note."""

    property_name = serializers.CharField(source="emergency.property.name")
    declarer_name = serializers.CharField(source="emergency.declarer_name")
    why = serializers.CharField(source="emergency.why")

    class Meta:
        model = NoteReading
        fields = ["id", "read_at", "reader_name", "property_name", "declarer_name", "why"]
        read_only_fields = fields
