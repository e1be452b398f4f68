"""What this floor's rooms hold of people: names of whoever wrote, notes, what they have."""

from collections.abc import Iterator
from datetime import datetime

from django.db.models import Q

from properties.conditions.models import Condition
from properties.emergency.models import Emergency, EmergencySheet, MedicalNote, NoteReading
from properties.gates.models import GateCode
from properties.incidents.models import Equipment
from properties.leases.models import Lease
from properties.people.erasure import (
    Subject,
    on_erasure,
    register_name_column,
    register_obstacles,
    register_rows_about,
)
from properties.people.models import Member, Paper, Person
from properties.people.youth_models import YouthRecord
from properties.regulations.models import Regulation
from properties.sessions.models import Season
from properties.stands.models import Inspection


def register() -> None:
    """Called once, when Django has loaded every model."""
    by_property = "property__cooperative"
    for model, column, cooperative in (
        (Condition, "entered_by", by_property),
        (GateCode, "entered_by", "gate__property__cooperative"),
        (Season, "entered_by", by_property),
        (Season, "confirmed_by", by_property),
        (Regulation, "entered_by", by_property),
        (Regulation, "confirmed_by", by_property),
        (Inspection, "inspected_by", "stand__property__cooperative"),
        (Emergency, "declarer_name", by_property),
        (NoteReading, "reader_name", "emergency__property__cooperative"),
    ):
        register_name_column(model, column, cooperative=cooperative)
    for row in (Paper, Member, YouthRecord, MedicalNote):
        register_rows_about(row, "person")
    on_erasure(_notes_go)
    register_obstacles(_obstacles)


def _notes_go(subject: Subject, _now: datetime) -> None:
    MedicalNote.objects.filter(person=subject.person_id).delete()


def _obstacles(person: Person, now: datetime) -> Iterator[str]:
    lent = Equipment.objects.filter(holder=person, retired_at=None).values_list("name", flat=True)
    if lent:
        yield f"They have equipment of the cooperative: {', '.join(sorted(lent))}."
    if Lease.objects.filter(landowner=person, last_on__gte=now.date()).exists():
        yield "They are the landowner of a lease that stands or is to come."
    sheets = EmergencySheet.objects.filter(property__cooperative=person.cooperative_id)
    for sheet in sheets.select_related("property").order_by("property__name"):
        if any(holder.get("name") == person.name for holder in sheet.key_holders):
            yield f"They hold keys by the emergency sheet of {sheet.property.name}."
    of_them = Q(person=person) | Q(declared_by=person)
    if Emergency.objects.filter(of_them, ended_at=None, ends_at__gt=now).exists():
        yield "An emergency that names them stands."
