"""Invented trouble on the invented ground: incidents, what was done about them, and equipment."""

from dataclasses import dataclass

from coop.access.actors import person_actor
from coop.demo import people
from coop.demo.build import Built, builder
from coop.demo.scenario import Calendar
from properties.incidents.equipment_services import enter_equipment
from properties.incidents.models import EquipmentKind, EquipmentState, Incident, IncidentKind
from properties.incidents.services import (
    close_incident,
    follow_up,
    release_incident,
    report_incident,
)


@dataclass(frozen=True, kw_only=True)
class TroublePlan:
    """An incident on one property, reported by a member, and how far its log has come."""

    ground: str
    kind: IncidentKind
    days_ago: int
    by: str
    place: str
    what: str
    found: str = ""
    closed: str = ""
    told: str = ""


TROUBLE = (
    TroublePlan(
        ground=people.RIDGE,
        kind=IncidentKind.TRESPASS,
        days_ago=6,
        by="Bram Fenwick",
        place="fence along the county road",
        what="Boot tracks over the fence and out again, two people, this morning's frost broken.",
        found="The neighbour had searched for a calf, and had called the landowner before.",
        closed="Nothing more to do; the neighbour has the manager's number now.",
        told="A neighbour had looked for a calf; it was agreed to call before.",
    ),
    TroublePlan(
        ground=people.RIDGE,
        kind=IncidentKind.THEFT,
        days_ago=4,
        by="Jonah Beck",
        place="barn at the south gate",
        what="The short ladder is gone from its hooks, the lock of the barn lies in the grass.",
        found="Reported to the sheriff's office; a new lock is on the barn.",
    ),
    TroublePlan(
        ground=people.BOTTOM,
        kind=IncidentKind.OPEN_GATE,
        days_ago=2,
        by="Fern Dobson",
        place="river gate",
        what="It stood open at noon, no cattle out.",
    ),
)


def write_trouble(built: Built, calendar: Calendar) -> int:
    """Report it as members would and follow it up as managers would; returns how many incidents.
    What stands from an earlier run is left alone."""
    lands = built.lands.values()
    if Incident.objects.filter(property__in=lands).exists():
        return 0
    reported = [_reported(built, plan, calendar) for plan in TROUBLE]
    thefts = [one for one in reported if one.kind == IncidentKind.THEFT]
    _equipment(built, calendar, theft=thefts[0])
    return len(TROUBLE)


def _reported(built: Built, plan: TroublePlan, calendar: Calendar) -> Incident:
    user = built.persons[plan.by].user
    assert user is not None
    at = calendar.at(-plan.days_ago, 12)
    incident = report_incident(
        actor=person_actor(user.id, user.name),
        land=built.lands[plan.ground],
        fields={
            "kind": plan.kind,
            "happened_at": calendar.at(-plan.days_ago, 7),
            "place_words": plan.place,
            "what": plan.what,
        },
        now=at,
    )
    if plan.found:
        follow_up(actor=builder(), incident=incident, words=plan.found, now=at)
    if plan.closed:
        close_incident(actor=builder(), incident=incident, words=plan.closed, now=at)
    if plan.told:
        release_incident(actor=builder(), incident=incident, done=plan.told, now=at)
    return incident


def _equipment(built: Built, calendar: Calendar, *, theft: Incident) -> None:
    land = built.lands[people.RIDGE]
    things = (
        (EquipmentKind.DRIVER, "Post driver", "PD-1", {"place_words": "barn at the south gate"}),
        (
            EquipmentKind.LADDER,
            "Short ladder",
            "L-12",
            {"state": EquipmentState.STOLEN, "theft": theft},
        ),
        (
            EquipmentKind.CAMERA_LOCK,
            "Cable lock, red tag",
            "K-4",
            {"state": EquipmentState.LENT, "holder": built.persons["Jonah Beck"]},
        ),
    )
    for kind, name, serial, where in things:
        enter_equipment(
            actor=builder(),
            land=land,
            fields={"kind": kind, "name": name, "serial": serial, **where},
            now=calendar.now,
        )
