"""Tags, places of harvest plans and camera surveys of a place."""

from datetime import date
from typing import Any

from properties.people.models import Person
from scheduling.herd.models import CameraSurvey
from scheduling.sits.harvest_models import HarvestPlace, Tag
from scheduling.sits.models import Harvest, Sit
from scrapes.cameras.models import CameraUnit
from tests.cast import NOW
from tests.coop.access.places import World, mark


def make_tag(person: Person, number: str, **fields: Any) -> Tag:
    return Tag.objects.create(
        person=person,
        kind="permit",
        number=number,
        harvest_class="antlerless",
        valid_from=date(2025, 10, 1),
        valid_until=date(2026, 1, 31),
        **fields,
    )


def make_harvest_and_herd(world: World, place: str) -> None:
    """After sits and cameras: the deer of the place gets what only its hunter may read."""
    land, ids = world.land(place), world.ids[place]
    hunter = Person.objects.get(id=ids["person"])
    tag = world.keep(place, "tag", make_tag(hunter, mark("Tagnumber", place), property=land))
    Harvest.objects.filter(id=ids["harvest"]).update(
        tag=Tag.objects.create(
            person=hunter,
            number=mark("Usedtag", place),
            valid_from=tag.valid_from,
            valid_until=tag.valid_until,
        ),
        sample_number=mark("Sample", place),
        check_number=mark("Checknumber", place),
        individual=mark("Buck", place),
        longitude=land.longitude,
        latitude=land.latitude,
    )
    sit = Sit.objects.get(id=ids["sit"])
    world.keep(
        place,
        "harvest_place",
        HarvestPlace.objects.create(plan_id=ids["harvest_plan"], sit=sit, held=True),
    )
    survey = CameraSurvey.objects.create(
        property=land,
        name=f"August {place}",
        first_on=date(2025, 8, 10),
        last_on=date(2025, 8, 23),
        area_m2=2_590_000,
        buck_pictures=320,
        doe_pictures=480,
        fawn_pictures=160,
        unique_bucks=24,
        bucks_decided_by=hunter,
        bucks_decided_at=NOW,
        notes=mark("Camera", place),
    )
    survey.cameras.set(CameraUnit.objects.filter(id=ids["camera"]))
    world.keep(place, "camera_survey", survey)


def make_own_harvest(world: World) -> None:
    """What the member holds; and the place of an outfitter's client."""
    own = world.ids["north"]
    world.keep("north", "own_tag", make_tag(world.cast.member, "OWN-1"))
    for kind, sit in (("own_harvest_place", "own_sit"), ("client_harvest_place", "client_sit")):
        row = HarvestPlace.objects.create(plan_id=own["harvest_plan"], sit_id=own[sit])
        world.keep("north", kind, row)
