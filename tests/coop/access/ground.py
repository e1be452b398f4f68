"""Land, people and stands of a place."""

from datetime import UTC, date, datetime

from coop.access.models import Application
from coop.access.roles import Role
from properties.conditions.models import Condition
from properties.land.models import Closure, Feature
from properties.obligations.models import Due, WorkDay
from properties.people.models import (
    Member,
    Outfitter,
    Paper,
    Person,
    PropertyShare,
)
from properties.people.youth_models import YouthRecord
from properties.sessions.models import Season
from properties.stands.models import Inspection, StandExclusion
from tests.cast import grant, make_person, make_stand, square
from tests.coop.access.places import CONTACT, TODAY, World, mark


def make_ground(world: World, place: str) -> None:
    land = world.land(place)
    land.name, land.access_notes = mark("Property", place), "Close the gate."
    land.save()
    world.keep(place, "property", land)
    world.keep(place, "land_of_sits", land)
    world.keep(place, "cooperative", land.cooperative)
    for kind, shift in (("feature", 0.004), ("other_feature", 0.008)):
        world.keep(
            place,
            kind,
            Feature.objects.create(
                property=land,
                kind="bedding" if kind == "feature" else "food_plot",
                name=f"{mark('Feature', place)} {kind}",
                geometry=square(land.west + shift, land.south + shift, 0.002),
                west=land.west + shift,
                south=land.south + shift,
                east=land.west + shift + 0.002,
                north=land.south + shift + 0.002,
                notes=mark("Featurenote", place),
            ),
        )
    world.keep(
        place,
        "closure",
        Closure.objects.create(
            property=land,
            first_on=date(2026, 1, 5),
            last_on=date(2026, 1, 6),
            reason=mark("Closure", place),
        ),
    )
    world.keep(
        place,
        "condition",
        Condition.objects.create(
            property=land,
            kind="ice",
            starts_at=datetime(2026, 1, 5, tzinfo=UTC),
            source=mark("Warning", place),
            entered_by=mark("Enterer", place),
        ),
    )
    world.keep(
        place,
        "season",
        Season.objects.create(
            property=land,
            name=mark("Season", place),
            first_on=date(2025, 10, 1),
            last_on=date(2026, 1, 31),
            weapons=["bow"],
        ),
    )


def make_people(world: World, place: str) -> None:
    land = world.land(place)
    hunter = make_person(land.cooperative, f"{mark('First', place)} {mark('Person', place)}")
    world.keep(place, "person", hunter)
    world.keep(
        place, "member", Member.objects.create(person=hunter, joined_on=TODAY, entitlement_weight=3)
    )
    world.keep(place, "role", grant(hunter, Role.MEMBER, land))
    # Somebody of the cooperative without any role yet, whom only coordinators know.
    world.keep(
        place,
        "newcomer",
        make_person(land.cooperative, f"{mark('First', place)} {mark('Newcomer', place)}"),
    )
    world.keep(place, "paper", _paper(hunter, place))
    world.keep(
        place,
        "due",
        Due.objects.create(person=hunter, season_year=2025, amount=450, due_on=TODAY),
    )
    world.keep(
        place,
        "work_day",
        WorkDay.objects.create(
            person=hunter, property=land, worked_on=TODAY, hours=4, what=mark("Work", place)
        ),
    )
    world.keep(
        place, "youth", YouthRecord.objects.create(person=hunter, youth_until=date(2020, 5, 31))
    )
    for kind in ("licence", "hunter_education", "waiver"):
        Paper.objects.create(person=hunter, kind=kind, expires_on=date(2026, 12, 31))
    guest = Person.objects.create(
        cooperative=land.cooperative,
        name=f"{mark('First', place)} {mark('Guest', place)}",
        host=hunter,
        emergency_contact_name=CONTACT,
        emergency_contact_phone=CONTACT,
    )
    world.keep(place, "guest", guest)
    outfitter = Outfitter.objects.create(
        cooperative=land.cooperative,
        name=mark("Outfitter", place),
        contact_name=mark("Outfittercontact", place),
        contact_email=f"{CONTACT}@example.org",
        application=Application.objects.create(
            name=mark("Application", place),
            client_type="confidential",
            authorization_grant_type="client-credentials",
        ),
    )
    world.keep(place, "outfitter", outfitter)
    world.keep(place, "share", PropertyShare.objects.create(outfitter=outfitter, property=land))


def _paper(person: Person, place: str) -> Paper:
    return Paper.objects.create(
        person=person, kind=f"papermark_{place}", expires_on=date(2026, 12, 31)
    )


def make_stands(world: World, place: str) -> None:
    land = world.land(place)
    stand = make_stand(
        land,
        f"{mark('Stand', place)} one",
        notes=mark("Standnote", place),
        approach_route={
            "type": "LineString",
            "coordinates": [
                [land.longitude - 0.002, land.latitude],
                [land.longitude, land.latitude],
            ],
        },
    )
    other = make_stand(land, f"{mark('Stand', place)} two", latitude=land.latitude + 0.006)
    third = make_stand(land, f"{mark('Stand', place)} three", latitude=land.latitude - 0.006)
    Feature.objects.create(
        property=land,
        kind="hazard",
        hazard_sort="house",
        name=f"{mark('Feature', place)} house",
        geometry=square(third.longitude + 0.0001, third.latitude, 0.0002),
        west=third.longitude + 0.0001,
        south=third.latitude,
        east=third.longitude + 0.0003,
        north=third.latitude + 0.0002,
    )
    for kind, row in (("stand", stand), ("other_stand", other), ("third_stand", third)):
        world.keep(place, kind, row)
    world.keep(
        place,
        "inspection",
        Inspection.objects.create(
            stand=stand,
            inspected_on=date(2025, 8, 15),
            inspected_by=mark("Inspector", place),
            passed=True,
            notes=mark("Inspection", place),
        ),
    )
    first, second = sorted((stand, other), key=lambda each: each.id)
    world.keep(
        place,
        "exclusion",
        StandExclusion.objects.create(first=first, second=second, reason=mark("Exclusion", place)),
    )
