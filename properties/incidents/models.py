"""Incidents with their evidence and follow-up, and the register of equipment."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from coop.records import Record, Retirable, VersionedRecord
from properties.land.models import Property
from properties.people.models import Person
from properties.stands.models import Stand


class IncidentKind(models.TextChoices):
    TRESPASS = "trespass"
    THEFT = "theft"
    DAMAGE = "damage"
    OPEN_GATE = "open_gate"
    INJURY = "injury"
    DISPUTE = "dispute"
    OTHER = "other"


class IncidentState(models.TextChoices):
    OPEN = "open"
    FOLLOWED_UP = "followed_up"
    CLOSED = "closed"


class Incident(VersionedRecord):
    """Something that went wrong on a property, in the words of whoever reported it.

    Where: a point, words, or both. ``told_done`` is the one sentence for the landowner, who
    reads nothing else of it but kind and date; it is told while ``told_at`` is set.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="incidents")
    kind = models.CharField(max_length=12, choices=IncidentKind)
    happened_at = models.DateTimeField()
    longitude = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(-180), MaxValueValidator(180)]
    )
    latitude = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(-90), MaxValueValidator(90)]
    )
    place_words = models.CharField(max_length=300, blank=True)
    stand = models.ForeignKey(
        Stand, null=True, blank=True, on_delete=models.PROTECT, related_name="incidents"
    )
    what = models.TextField(max_length=4_000)
    reported_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="incidents"
    )
    state = models.CharField(max_length=12, choices=IncidentState, default=IncidentState.OPEN)
    closed_at = models.DateTimeField(null=True, blank=True)
    told_done = models.CharField(max_length=300, blank=True)
    told_at = models.DateTimeField(null=True, blank=True)
    errand_words = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(longitude__isnull=True, latitude__isnull=True)
                | Q(longitude__isnull=False, latitude__isnull=False),
                name="incident_point_is_whole",
            ),
            models.CheckConstraint(
                condition=Q(longitude__isnull=False) | ~Q(place_words=""),
                name="incident_has_a_place",
            ),
            models.CheckConstraint(
                condition=Q(told_at__isnull=True) | ~Q(told_done=""),
                name="incident_is_told_in_words",
            ),
            models.CheckConstraint(
                condition=Q(state=IncidentState.CLOSED, closed_at__isnull=False)
                | (~Q(state=IncidentState.CLOSED) & Q(closed_at__isnull=True)),
                name="incident_closed_at_an_instant",
            ),
        ]
        indexes = [models.Index(fields=["property", "happened_at"], name="incident_by_time")]


class FollowUp(Record):
    """What was found out or done about an incident; entries are added and never changed.

    ``once_key`` names the cause of an entry that a fact wrote, so that it is written once.
    """

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="follow_ups")
    at = models.DateTimeField()
    entered_by = models.CharField(max_length=200)
    words = models.TextField(max_length=4_000)
    once_key = models.CharField(max_length=100, null=True, blank=True, unique=True)

    class Meta:
        indexes = [models.Index(fields=["incident", "at"], name="follow_up_in_order")]


class MediaType(models.TextChoices):
    JPEG = "image/jpeg"
    PNG = "image/png"
    WEBP = "image/webp"
    PDF = "application/pdf"


class EvidenceFile(Record):
    """A picture or paper of an incident. ``digest`` is the SHA-256 of the file as it came."""

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="files")
    name = models.CharField(max_length=120)
    media_type = models.CharField(max_length=20, choices=MediaType)
    size_bytes = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    width_px = models.PositiveIntegerField(null=True, blank=True)
    height_px = models.PositiveIntegerField(null=True, blank=True)
    digest = models.CharField(max_length=64)
    holds_position = models.BooleanField(default=False)
    uploaded_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="evidence_files"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["incident", "digest"], name="evidence_once_for_each_incident"
            )
        ]


class EvidenceContent(Record):
    """The bytes of a file, in the database: no web server reaches them, every backup does.

    ``shown`` is a picture drawn anew without its metadata; a paper has none of its own.
    """

    file = models.OneToOneField(EvidenceFile, on_delete=models.PROTECT, related_name="content")
    original = models.BinaryField()
    shown = models.BinaryField(null=True, blank=True)


class EquipmentKind(models.TextChoices):
    LADDER = "ladder"
    CAMERA_LOCK = "camera_lock"
    DRIVER = "driver"
    TOOL = "tool"
    OTHER = "other"


class EquipmentState(models.TextChoices):
    IN_PLACE = "in_place"
    LENT = "lent"
    MISSING = "missing"
    STOLEN = "stolen"


class Equipment(VersionedRecord, Retirable):
    """A thing that the cooperative owns on a property: where it is, or who has it."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="equipment")
    kind = models.CharField(max_length=12, choices=EquipmentKind)
    name = models.CharField(max_length=120)
    serial = models.CharField(max_length=100, blank=True)
    place_words = models.CharField(max_length=300, blank=True)
    state = models.CharField(max_length=10, choices=EquipmentState, default=EquipmentState.IN_PLACE)
    holder = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="equipment"
    )
    theft = models.ForeignKey(
        Incident, null=True, blank=True, on_delete=models.PROTECT, related_name="stolen_equipment"
    )
    notes = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state=EquipmentState.STOLEN, theft__isnull=False)
                | (~Q(state=EquipmentState.STOLEN) & Q(theft__isnull=True)),
                name="stolen_equipment_names_the_theft",
            ),
            models.CheckConstraint(
                condition=~Q(state=EquipmentState.LENT) | Q(holder__isnull=False),
                name="lent_equipment_has_a_holder",
            ),
            models.UniqueConstraint(
                F("property"),
                F("kind"),
                F("serial"),
                condition=~Q(serial="") & Q(retired_at__isnull=True),
                name="equipment_serial_once",
            ),
        ]
        indexes = [models.Index(fields=["property", "state"], name="equipment_list")]
