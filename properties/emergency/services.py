"""Keep the sheet; declare and end an emergency; keep, show and erase medical notes."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import Problem
from coop.audit import services as audit
from coop.audit import writing
from coop.sealing.seals import seal, unseal
from properties.emergency import notices
from properties.emergency.models import (
    Emergency,
    EmergencySheet,
    MedicalNote,
    NoteReading,
    StandEmergency,
)
from properties.emergency.presence import present_on
from properties.emergency.queries import settings_of, stands_at
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.people.erased import refuse_erased
from properties.people.models import Person
from properties.people.queries import members_of

PURPOSE = "medical note"
OWN_NOTE = "medical_note:own"
LONGEST_NOTE = 4_000


class EmergencyOver(Problem):
    """Medical notes are shown while a declared emergency stands, and not after."""

    code = "emergency_over"
    title = "This emergency is over"


@transaction.atomic
def add_sheet(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> EmergencySheet:
    """Keep a property's sheet; one for each. Raises ``ValidationError`` by field."""
    actor.require(Action.EMERGENCY_SHEET_WRITE, land.id)
    row = EmergencySheet(property=land, **fields)
    return writing.create(
        row, actor=actor, action=Action.EMERGENCY_SHEET_WRITE, now=now, property_id=land.id
    )


@transaction.atomic
def change_sheet(
    *, actor: Actor, sheet: EmergencySheet, changes: Mapping[str, Any], now: datetime
) -> EmergencySheet:
    """Change a property's sheet; raises ``ValidationError`` by field."""
    actor.require(Action.EMERGENCY_SHEET_WRITE, sheet.property_id)
    return writing.change(
        sheet,
        changes,
        actor=actor,
        action=Action.EMERGENCY_SHEET_WRITE,
        now=now,
        property_id=sheet.property_id,
    )


@transaction.atomic
def add_stand(*, actor: Actor, row: StandEmergency, now: datetime) -> StandEmergency:
    """Keep what helpers need to reach a stand; one for each. Raises ``ValidationError``."""
    actor.require(Action.EMERGENCY_SHEET_WRITE, row.stand.property_id)
    return writing.create(
        row,
        actor=actor,
        action=Action.EMERGENCY_SHEET_WRITE,
        now=now,
        property_id=row.stand.property_id,
    )


@transaction.atomic
def change_stand(
    *, actor: Actor, row: StandEmergency, changes: Mapping[str, Any], now: datetime
) -> StandEmergency:
    """Change what helpers need to reach a stand; raises ``ValidationError`` by field."""
    actor.require(Action.EMERGENCY_SHEET_WRITE, row.stand.property_id)
    return writing.change(
        row,
        changes,
        actor=actor,
        action=Action.EMERGENCY_SHEET_WRITE,
        now=now,
        property_id=row.stand.property_id,
    )


@transaction.atomic
def declare(*, actor: Actor, land: Property, person: Person, why: str, now: datetime) -> Emergency:
    """Declare an emergency for a person on a property; the managers and the person are told.

    Managers and coordinators may for anybody who belongs there or is there; whoever is on
    the property that day, for somebody else who is there. Raises ``PermissionDenied``.
    """
    actor.require(Action.EMERGENCY_DECLARE, land.id)
    present = present_on(land.id, local_date_on(land, now))
    if not actor.may(Action.EMERGENCY_READ, land.id) and actor.person_id not in present:
        raise PermissionDenied("whoever is not on the property today tells a manager instead")
    _check_there(actor, land, person, present)
    emergency = Emergency(
        property=land,
        person=person,
        declared_by_id=actor.person_id,
        declarer_name=actor.name[:200],
        why=why,
        declared_at=now,
        ends_at=now + timedelta(hours=settings_of(land).declared_for_h),
    )
    writing.create(
        emergency, actor=actor, action=Action.EMERGENCY_DECLARE, now=now, property_id=land.id
    )
    notices.tell_declared(emergency, now=now)
    return emergency


@transaction.atomic
def end(*, actor: Actor, emergency: Emergency, now: datetime) -> Emergency:
    """Say that it is over: whoever declared it, whom it is about, a manager. Twice is once."""
    emergency = _locked(emergency)
    if not actor.is_one_of(emergency.declared_by_id, emergency.person_id):
        actor.require(Action.EMERGENCY_READ, emergency.property_id)
    if not stands_at(emergency, now):
        return emergency
    return writing.change(
        emergency,
        {"ended_at": now},
        actor=actor,
        action=Action.EMERGENCY_DECLARE,
        now=now,
        property_id=emergency.property_id,
    )


@transaction.atomic
def read_note(*, actor: Actor, emergency: Emergency, now: datetime) -> str | None:
    """The medical note of whom a standing emergency is about; None where there is none.

    To whoever declared it and to managers. Each reading is kept, and the person told. Raises
    ``PermissionDenied`` and :class:`EmergencyOver`.
    """
    emergency = _locked(emergency)
    if actor.person_id is None or actor.person_id != emergency.declared_by_id:
        actor.require(Action.EMERGENCY_READ, emergency.property_id)
    else:
        actor.require(Action.EMERGENCY_DECLARE, emergency.property_id)
    if not stands_at(emergency, now):
        raise EmergencyOver("It has ended; if help is still needed, declare it again.")
    note = MedicalNote.objects.filter(person=emergency.person_id).first()
    text = None if note is None else unseal(note.sealed, purpose=PURPOSE, owner=note.id)
    reading = NoteReading(
        emergency=emergency,
        person_id=emergency.person_id,
        reader_name=actor.name[:200],
        read_at=now,
    )
    writing.create(
        reading,
        actor=actor,
        action=Action.EMERGENCY_READ,
        now=now,
        property_id=emergency.property_id,
        reason=emergency.why,
    )
    notices.tell_read(emergency, reading, has_note=note is not None, now=now)
    return text


@transaction.atomic
def keep_note(*, actor: Actor, person_id: UUID, text: str, now: datetime) -> MedicalNote:
    """Keep a person's own note in place of the one before; the record holds no word of it."""
    if not text.strip() or len(text) > LONGEST_NOTE:
        raise ValidationError({"text": f"Must be 1 to {LONGEST_NOTE} characters; delete it else."})
    refuse_erased(person_id)
    note = MedicalNote.objects.filter(person=person_id).first()
    if note is None:
        note = MedicalNote(person_id=person_id)
        note.sealed = seal(text, purpose=PURPOSE, owner=note.id)
        return writing.create(note, actor=actor, action=OWN_NOTE, now=now)
    sealed = seal(text, purpose=PURPOSE, owner=note.id)
    return writing.change(note, {"sealed": sealed}, actor=actor, action=OWN_NOTE, now=now)


def own_note(*, person_id: UUID) -> tuple[str, datetime] | None:
    """A person's own note and when it was last written; None without one."""
    note = MedicalNote.objects.filter(person=person_id).first()
    if note is None:
        return None
    return unseal(note.sealed, purpose=PURPOSE, owner=note.id), note.updated_at


@transaction.atomic
def erase_note(*, actor: Actor, person_id: UUID, now: datetime) -> None:
    """Erase a person's own note for good; that it was there stays in the record, without it."""
    note = MedicalNote.objects.select_for_update().filter(person=person_id).first()
    if note is None:
        return
    audit.record(actor=actor, action=OWN_NOTE, target=note, now=now, reason="erased")
    note.delete()


def _check_there(actor: Actor, land: Property, person: Person, present: frozenset[UUID]) -> None:
    if person.id in present:
        return
    belongs = members_of(property_id=land.id).filter(id__in=[person.id, person.host_id]).exists()
    if not (belongs and actor.may(Action.EMERGENCY_READ, land.id)):
        raise ValidationError({"person": "Is not on this property today, as far as is known."})


def _locked(emergency: Emergency) -> Emergency:
    Emergency.objects.select_for_update().get(id=emergency.id)
    return Emergency.objects.select_related("property", "person__host").get(id=emergency.id)
