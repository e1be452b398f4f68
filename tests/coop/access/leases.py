"""Leases, rent and dated values of a place; and the lease that the landowner signed."""

from datetime import date

from properties.leases.models import Lease, Rent
from properties.people.models import Person
from properties.regulations.models import Regulation
from tests.cast import NOW
from tests.coop.access.places import World, mark

EVERYBODY = ["members", "guests", "clients"]


def make_leases(world: World, place: str) -> None:
    land = world.land(place)
    landowner = Person.objects.get(id=world.ids[place]["person"])
    lease = Lease.objects.create(
        property=land,
        landowner=landowner,
        first_on=date(2025, 8, 1),
        last_on=date(2035, 7, 31),
        renewal_notice_on=date(2035, 4, 30),
        people=EVERYBODY,
        vehicles_note=mark("Vehicle", place),
        notes=mark("Leasenote", place),
    )
    world.keep(place, "lease", lease)
    world.keep(place, "lease_terms", lease)
    world.keep(place, "rent", _rent(lease, place))
    world.keep(
        place,
        "regulation",
        Regulation.objects.create(
            property=land,
            kind="feed",
            value={"permitted": False},
            first_on=date(2025, 8, 1),
            source_url="https://state.example/regulations",
            notes=mark("Regulation", place),
            entered_by=mark("Enterer", place),
            entered_at=NOW,
        ),
    )


def make_own_lease(world: World) -> None:
    """The lease that the landowner of the north signed for the years after."""
    lease = Lease.objects.create(
        property=world.cast.north,
        landowner=world.cast.landowner,
        first_on=date(2035, 8, 1),
        last_on=date(2036, 7, 31),
        people=EVERYBODY,
    )
    world.keep("north", "own_lease", lease)
    world.keep("north", "own_rent", _rent(lease, "north", "Ownrent"))


def _rent(lease: Lease, place: str, what: str = "Rent") -> Rent:
    return Rent.objects.create(
        lease=lease,
        amount="2400.00",
        currency="USD",
        due_on=date(2026, 2, 1),
        notes=mark(what, place),
    )
