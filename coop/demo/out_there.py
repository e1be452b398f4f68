"""Getting there and getting help on the invented ground: gates, parking, sheet, neighbours."""

from coop.access.actors import Actor
from coop.demo.scenario import Calendar
from properties.emergency.services import add_sheet, keep_note
from properties.gates import services as gates
from properties.gates.models import DrivingDirections, Gate, Lock, ParkingPlace
from properties.land.models import Property
from properties.people.models import Person
from scheduling.tracking.neighbour_services import add_neighbour

_EDGE_DEG = 0.0004
INVENTED_CODES = ("2580", "1379")
"""One that holds since long, and the next one from tomorrow on."""


def lay_out(*, actor: Actor, land: Property, number: int, calendar: Calendar) -> None:
    """The ways in, the sheet and one neighbour of a property, all of it invented."""
    _ways_in(actor, land, calendar)
    add_sheet(
        actor=actor,
        land=land,
        fields={
            "road_address": f"{1180 + 40 * number} Invented Road",
            "ambulance_directions": "By the south gate; somebody meets you there with a light.",
            "hospital_name": "Invented Valley Hospital",
            "hospital_address": "1 Invented Drive",
            "hospital_phone": "555-0150",
            "first_aid_kit": "Red box in the hay barn, left of the door",
            "key_holders": [{"name": "The manager", "phone": "555-0151", "keys": "both gates"}],
            "checked_on": calendar.day(-60),
        },
        now=calendar.now,
    )
    add_neighbour(
        actor=actor,
        land=land,
        fields={
            "name": f"Neighbour of {land.name}",
            "phone": f"555-016{number}",
            "ground": "Pasture beyond the east fence",
            "may_enter": "yes",
            "with_dog": "ask_first",
            "with_weapon": "no",
            "asked_on": calendar.day(-60),
        },
        now=calendar.now,
    )


def write_a_note(*, actor: Actor, person: Person, calendar: Calendar) -> None:
    """One member keeps a medical note; nobody reads it without a declared emergency."""
    keep_note(
        actor=actor,
        person_id=person.id,
        text="Allergic to bee stings; the pen is in the left chest pocket. (Invented.)",
        now=calendar.now,
    )


def _ways_in(actor: Actor, land: Property, calendar: Calendar) -> None:
    at = {"property": land, "longitude": land.longitude, "latitude": land.south + _EDGE_DEG}
    south = Gate(name="South gate", lock=Lock.CODE, notes="Close it behind you: cattle.", **at)
    gates.add(actor=actor, row=south, now=calendar.now)
    for code, days in zip(INVENTED_CODES, (-90, 1), strict=True):
        gates.set_code(
            actor=actor, gate=south, code=code, holds_from=calendar.day(days), now=calendar.now
        )
    parking = ParkingPlace(name="Hay barn", vehicles=4, **at)
    gates.add(actor=actor, row=parking, now=calendar.now)
    directions = DrivingDirections(
        property=land,
        directions="North on the invented county road; second lane left after the bridge.",
        vehicle_rule="No vehicle beyond the hay barn without the manager's word.",
    )
    gates.add(actor=actor, row=directions, now=calendar.now)
