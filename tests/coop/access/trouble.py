"""Incidents, their evidence and follow-up, and equipment of a place."""

from datetime import UTC, datetime

from properties.incidents.models import (
    Equipment,
    EvidenceContent,
    EvidenceFile,
    FollowUp,
    Incident,
)
from properties.people.models import Person
from tests.cast import NOW
from tests.coop.access.places import World, mark

HAPPENED_AT = datetime(2025, 10, 20, 12, tzinfo=UTC)


def make_incident(world: World, place: str, whose: str = "", **fields) -> Incident:
    return Incident.objects.create(
        property=world.land(place),
        **{"kind": "trespass", "happened_at": HAPPENED_AT, **fields},
        place_words=mark(f"{whose}Troubleplace", place),
        what=mark(f"{whose}Trouble", place),
    )


def make_file(incident: Incident, place: str, whose: str = "", **fields) -> EvidenceFile:
    content = b"%PDF-1.7\n" + mark(f"{whose}Evidence", place).encode() + b"\n%%EOF"
    file = EvidenceFile.objects.create(
        incident=incident,
        name=f"{mark(f'{whose}Evidencename', place)}.pdf",
        media_type="application/pdf",
        size_bytes=len(content),
        digest=f"digest-{whose}{place}",
        **fields,
    )
    EvidenceContent.objects.create(file=file, original=content)
    return file


def make_trouble(world: World, place: str) -> None:
    hunter = Person.objects.get(id=world.ids[place]["person"])
    incident = world.keep(place, "incident", make_incident(world, place, reported_by=hunter))
    world.keep(place, "incident_file", make_file(incident, place, uploaded_by=hunter))
    world.keep(
        place,
        "incident_follow_up",
        FollowUp.objects.create(
            incident=incident, at=NOW, entered_by="Max", words=mark("Followup", place)
        ),
    )
    told = make_incident(
        world,
        place,
        kind="theft",
        told_done=mark("Told", place),
        told_at=NOW,
    )
    world.keep(place, "told_incident", told)
    world.keep(
        place,
        "equipment",
        Equipment.objects.create(
            property=world.land(place),
            kind="ladder",
            name=mark("Equipment", place),
            serial=mark("Serial", place),
            state="stolen",
            theft=told,
            holder=hunter,
        ),
    )


def make_own_trouble(world: World) -> None:
    """What the member reported on the north property."""
    member = world.cast.member
    own = make_incident(world, "north", "Own", reported_by=member)
    world.keep("north", "own_incident", own)
    world.keep("north", "own_incident_file", make_file(own, "north", "Own", uploaded_by=member))
