"""Who is told of a declared emergency and of a note that was read; no letter holds the note."""

from collections.abc import Iterable
from datetime import datetime

from coop.access.roles import Role
from coop.outbox import services as outbox
from properties.emergency.cautions import NO_SUBSTITUTE
from properties.emergency.models import Emergency, NoteReading
from properties.land.local_dates import shown_clock_on
from properties.people.models import Person
from properties.people.queries import holders_of


def tell_declared(emergency: Emergency, *, now: datetime) -> None:
    """Tell managers and coordinators, and the person it is about (a guest's host)."""
    land, person = emergency.property, emergency.person
    told: set[Person] = set(holders_of(role=Role.MANAGER, property_id=land.id))
    told |= set(holders_of(role=Role.COORDINATOR, property_id=land.id))
    text = (
        f"{emergency.declarer_name} has declared an emergency for {person.name} on {land.name}: "
        f"{emergency.why}\n\nUntil {shown_clock_on(land, emergency.ends_at)} whoever declared it "
        "and the managers may read the person's medical note; each reading is kept, and the "
        "person is told.\n\nThis message calls nobody: make sure that the local emergency number "
        f"has been called. {NO_SUBSTITUTE}"
    )
    _write(
        (*told, *_reachable(person)),
        once_key=f"emergency:{emergency.id}",
        subject=f"EMERGENCY declared: {person.name}, {land.name}",
        text=text,
        now=now,
    )


def tell_read(emergency: Emergency, reading: NoteReading, *, has_note: bool, now: datetime) -> None:
    """Tell the person that their medical note was shown or asked for, by whom, when and why."""
    land, person = emergency.property, emergency.person.name
    what = (
        f"was shown the medical note of {person}"
        if has_note
        else f"asked for the medical note of {person}, who keeps none,"
    )
    _write(
        _reachable(emergency.person),
        once_key=f"medical-note-read:{reading.id}",
        subject="Your medical note was read" if has_note else "Your medical note was asked for",
        text=(
            f"{reading.reader_name} {what} at {shown_clock_on(land, reading.read_at)}, in the "
            f"emergency that {emergency.declarer_name} declared on "
            f"{land.name}: {emergency.why}\n\n"
            "If that was not right, tell your coordinator. You can read every such reading, and "
            "change or erase your note, at any time."
        ),
        now=now,
    )


def _reachable(person: Person) -> tuple[Person, ...]:
    return (person, person.host) if person.host is not None else (person,)


def _write(
    people: Iterable[Person], *, once_key: str, subject: str, text: str, now: datetime
) -> None:
    for person in sorted({one for one in people if one.email}, key=lambda one: one.email):
        outbox.write_message(
            once_key=f"{once_key}:{person.email}"[:200],
            recipient=person.email,
            subject=subject,
            text=text,
            cooperative_id=person.cooperative_id,
            now=now,
            urgent=True,
        )
