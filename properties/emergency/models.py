"""What helpers have to know of a property and its stands; emergencies; sealed medical notes."""

from django.db import models

from coop.records import Record, VersionedRecord
from properties.land.models import Property
from properties.people.models import Person
from properties.stands.models import Stand


class EmergencySheet(VersionedRecord):
    """For a whole property; a stand of its own may say it better.

    ``key_holders`` are objects with ``name``, ``phone`` and ``keys``: who has which.
    """

    property = models.OneToOneField(
        Property, on_delete=models.PROTECT, related_name="emergency_sheet"
    )
    road_address = models.CharField(max_length=300, blank=True)
    ambulance_directions = models.TextField(blank=True)
    hospital_name = models.CharField(max_length=200, blank=True)
    hospital_address = models.CharField(max_length=300, blank=True)
    hospital_phone = models.CharField(max_length=40, blank=True)
    first_aid_kit = models.CharField(max_length=300, blank=True)
    key_holders = models.JSONField(default=list, blank=True)
    notes = models.TextField(blank=True)
    checked_on = models.DateField(null=True, blank=True)


class StandEmergency(VersionedRecord):
    """What differs at one stand: the road nearest to it, the way from there, the kit."""

    stand = models.OneToOneField(Stand, on_delete=models.PROTECT, related_name="emergency")
    road_address = models.CharField(max_length=300, blank=True)
    ambulance_directions = models.TextField(blank=True)
    first_aid_kit = models.CharField(max_length=300, blank=True)


class MedicalNote(VersionedRecord):
    """A person's own words for whoever helps them, sealed; deleted when the person says so."""

    person = models.OneToOneField(Person, on_delete=models.CASCADE, related_name="medical_note")
    sealed = models.BinaryField()


class Emergency(VersionedRecord):
    """Somebody declared an emergency for a person on a property, until ``ends_at``.

    While it stands, whoever declared it and the managers may read the person's medical note.
    ``ended_at``: somebody said that it is over.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="emergencies")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="emergencies")
    declared_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    declarer_name = models.CharField(max_length=200)
    why = models.CharField(max_length=500)
    declared_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "emergencies"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("declared_at")),
                name="emergency_stands_for_a_time",
            ),
        ]


class NoteReading(Record):
    """That a person's medical note was shown: once a row, never changed."""

    emergency = models.ForeignKey(Emergency, on_delete=models.PROTECT, related_name="readings")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="note_readings")
    reader_name = models.CharField(max_length=200)
    read_at = models.DateTimeField()
