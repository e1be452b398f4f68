"""Somebody leaves and is erased, as the cast's coordinator does it."""

from properties.people import erasure
from properties.people.models import Person
from properties.people.role_services import retire_person
from tests.cast import NOW, Cast

OWN_WORDS = {
    "phone": "555-0177",
    "vehicle": "grey van, plate ZQX 77",
    "emergency_contact_name": "Kin of the one who left",
    "emergency_contact_phone": "555-0178",
}


def left(cast: Cast, person: Person) -> Person:
    return retire_person(actor=cast.actor(cast.coordinator), person=person, now=NOW)


def erased(cast: Cast, person: Person) -> Person:
    return erasure.erase_person(
        actor=cast.actor(cast.coordinator), person=person, name=person.name, now=NOW
    )
