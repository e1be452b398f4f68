"""Getting there, emergencies and tracked deer of a place, and what a caller owns of them."""

from datetime import date, timedelta

from coop.access.actors import system_actor
from properties.emergency.models import Emergency, EmergencySheet, StandEmergency
from properties.emergency.services import keep_note
from properties.gates.models import DrivingDirections, Gate, ParkingPlace
from properties.gates.services import set_code
from properties.people.models import Person
from scheduling.sits.models import Sit
from scheduling.tracking.models import Neighbour, Tracker, Tracking
from tests.cast import NOW
from tests.coop.access.places import CONTACT, World, mark


def make_gates(world: World, place: str) -> None:
    land = world.land(place)
    here = {"property": land, "longitude": land.longitude, "latitude": land.latitude}
    gate = Gate.objects.create(name=mark("Gate", place), lock="code", **here)
    world.keep(place, "gate", gate)
    set_code(
        actor=system_actor("test"),
        gate=gate,
        code=mark("Gatecode", place),
        holds_from=date(2025, 9, 1),
        now=NOW,
    )
    parking = ParkingPlace.objects.create(name=mark("Parking", place), **here)
    world.keep(place, "parking_place", parking)
    directions = DrivingDirections.objects.create(
        property=land, directions=mark("Directions", place)
    )
    world.keep(place, "driving_directions", directions)


def make_emergencies(world: World, place: str) -> None:
    land, ids = world.land(place), world.ids[place]
    sheet = EmergencySheet.objects.create(property=land, hospital_name=mark("Hospital", place))
    world.keep(place, "emergency_sheet", sheet)
    at_stand = StandEmergency.objects.create(
        stand_id=ids["stand"], road_address=mark("Road", place)
    )
    world.keep(place, "stand_emergency", at_stand)
    hunter = Person.objects.get(id=ids["person"])
    keep_note(actor=system_actor("test"), person_id=hunter.id, text=mark("Medical", place), now=NOW)
    world.keep(place, "emergency", _emergency(world, place, hunter))


def make_trackings(world: World, place: str) -> None:
    land, ids = world.land(place), world.ids[place]
    sit = Sit.objects.get(id=ids["sit"])
    tracking = Tracking.objects.create(
        property=land,
        sit=sit,
        hunter=sit.person,
        opened_at=NOW,
        hit_at=NOW - timedelta(hours=1),
        longitude=land.longitude,
        latitude=land.latitude,
        hit_kind="unknown",
        harvest_class="antlerless",
        remarks=mark("Hit", place),
    )
    world.keep(place, "tracking", tracking)
    tracker = Tracker.objects.create(
        tracking=tracking,
        name=mark("Handler", place),
        phone=CONTACT,
        area=mark("Area", place),
        joined_at=NOW,
        back_by=NOW + timedelta(hours=3),
    )
    world.keep(place, "tracker", tracker)
    neighbour = Neighbour.objects.create(
        property=land, name=mark("Neighbour", place), phone=CONTACT, ground="East of the creek"
    )
    world.keep(place, "neighbour", neighbour)


def make_own_emergency(world: World) -> None:
    """The member declared one for their own guest."""
    guest = Person.objects.get(id=world.ids["north"]["own_guest"])
    row = _emergency(world, "north", guest, declared_by=world.cast.member)
    world.keep("north", "own_emergency", row)


def _emergency(world: World, place: str, person: Person, **fields: object) -> Emergency:
    return Emergency.objects.create(
        property=world.land(place),
        person=person,
        declarer_name="Somebody",
        why=mark("Emergencywhy", place),
        declared_at=NOW,
        ends_at=NOW + timedelta(hours=6),
        **fields,
    )
