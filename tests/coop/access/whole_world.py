"""One object of every kind on three properties, and what callers own."""

from datetime import date, timedelta
from typing import Any

from coop.access.models import PersonalToken
from coop.access.roles import Role
from coop.jobs.models import JobRun
from properties.obligations.models import Due, WorkDay
from properties.people.models import (
    Paper,
    Person,
    RoleGrant,
)
from properties.people.youth_models import YouthRecord
from scheduling.rotation.models import PlannedSeat, PlanState
from scheduling.sits.calendar_models import CalendarFeed
from scheduling.sits.models import (
    Client,
    Harvest,
    SitRequest,
    SitState,
)
from tests.cast import NOW, grant, make_cast, make_person
from tests.coop.access.air_and_scrapes import make_scrapes, make_wind
from tests.coop.access.doings import (
    keep_exports,
    keep_webhook,
    make_plan,
    make_report,
    make_season_reports,
    make_sit,
    make_sit_report,
    make_sits,
    make_transfer,
    make_waiting,
    make_work,
)
from tests.coop.access.ground import make_ground, make_people, make_stands
from tests.coop.access.harvest_and_herd import make_harvest_and_herd, make_own_harvest
from tests.coop.access.leases import make_leases, make_own_lease
from tests.coop.access.out_there import (
    make_emergencies,
    make_gates,
    make_own_emergency,
    make_trackings,
)
from tests.coop.access.places import CONTACT, PLACES, TODAY, World, mark
from tests.coop.access.trouble import make_own_trouble, make_trouble


def make_world() -> World:
    """Inside a transaction that the caller rolls back."""
    cast = make_cast()
    revoked = make_person(cast.cooperative, "Rita Revoked")
    world = World(cast=cast, revoked=revoked)
    for role in (Role.MANAGER, Role.MEMBER):
        RoleGrant.objects.filter(id=grant(revoked, role, cast.north).id).update(revoked_at=NOW)
    for place in PLACES:
        make_ground(world, place)
        make_people(world, place)
        make_stands(world, place)
        make_leases(world, place)
        make_trouble(world, place)
        make_wind(world, place)
        make_scrapes(world, place)
        make_sits(world, place)
        make_gates(world, place)
        make_emergencies(world, place)
        make_trackings(world, place)
        make_harvest_and_herd(world, place)
        make_work(world, place)
    make_own(world)
    make_own_harvest(world)
    make_own_lease(world)
    make_own_emergency(world)
    make_own_trouble(world)
    make_joint_plans(world)
    for place in PLACES:
        make_report(world, place)
    make_season_reports(world)
    mark_contacts(world)
    return world


def make_own(world: World) -> None:
    """What a caller owns: seen and changed because it is theirs, not by a role."""
    cast, own = world.cast, world.ids["north"]
    member = cast.member
    world.keep("north", "own_person", member)
    world.keep("north", "own_member", member.member)
    world.keep("north", "own_paper", member.papers.first())
    world.keep(
        "north",
        "own_guest",
        Person.objects.create(
            cooperative=cast.cooperative,
            name="Gus Guest",
            host=member,
            emergency_contact_name="Kin of Gus",
            emergency_contact_phone="555-0198",
        ),
    )
    world.keep(
        "north",
        "own_youth",
        YouthRecord.objects.create(person_id=own["own_guest"], youth_until=date(2020, 5, 31)),
    )
    world.keep(
        "north",
        "own_due",
        Due.objects.create(person=member, season_year=2025, amount=450, due_on=TODAY),
    )
    world.keep(
        "north",
        "own_work_day",
        WorkDay.objects.create(
            person=member, property=cast.north, worked_on=TODAY, hours=4, what="Mowed"
        ),
    )
    world.keep("north", "own_sit", make_sit(world, "north", member, "stand"))
    keep_exports(world, "north", member, prefix="own_")
    hunter = Person.objects.get(id=own["person"])
    given = make_sit(world, "north", member, "stand", day=TODAY + timedelta(days=1))
    world.keep("north", "own_sit_transfer", make_transfer(world, "north", given, hunter))
    taken = make_sit(world, "north", hunter, "third_stand", day=TODAY + timedelta(days=4))
    world.keep("north", "received_sit_transfer", make_transfer(world, "north", taken, member))
    world.keep("north", "own_waiting_entry", make_waiting(world, "north", member))
    past = make_sit(
        world,
        "north",
        member,
        "other_stand",
        day=TODAY - timedelta(days=6),
        state=SitState.REPORTED,
    )
    world.keep("north", "own_sit_report", make_sit_report(past, "north", "Own"))
    world.keep(
        "north",
        "own_harvest",
        Harvest.objects.create(
            property=cast.north,
            person=member,
            harvest_class="antlerless",
            taken_at=NOW - timedelta(days=6),
        ),
    )
    world.keep(
        "north",
        "own_sit_request",
        SitRequest.objects.create(
            property=cast.north,
            person=member,
            first_on=TODAY,
            last_on=TODAY + timedelta(days=9),
            wanted_sits=2,
        ),
    )
    keep_webhook(world, "north", "own_webhook", application=cast.outfitter.application)
    world.keep(
        "north",
        "own_job",
        JobRun.objects.create(name="report", due_at=NOW, requested_by=member.user),
    )
    world.keep(
        "north", "own_calendar_feed", CalendarFeed.objects.create(person=member, digest="own")
    )
    row, _text = PersonalToken.objects.create(user=member.user, name="own")
    own["own_token"] = row.token_key
    world.keep(
        "north",
        "left_sit",
        make_sit(world, "north", world.revoked, "third_stand", day=TODAY - timedelta(days=9)),
    )
    client = Person.objects.create(
        cooperative=cast.cooperative,
        name="Clio Client",
        emergency_contact_name="Kin of Clio",
        emergency_contact_phone="555-0197",
    )
    Client.objects.create(outfitter=cast.outfitter, person=client, reference="C-1")
    for kind in ("licence", "hunter_education", "waiver"):
        Paper.objects.create(person=client, kind=kind, expires_on=date(2026, 12, 31))
    world.keep(
        "north",
        "client_sit",
        make_sit(world, "north", client, "third_stand", outfitter=cast.outfitter),
    )
    sat = make_sit(
        world,
        "north",
        client,
        "third_stand",
        day=TODAY - timedelta(days=4),
        outfitter=cast.outfitter,
        state=SitState.REPORTED,
    )
    world.keep("north", "past_client_sit", sat)
    world.keep("north", "client_sit_report", make_sit_report(sat, "north", "Client"))


def make_joint_plans(world: World) -> None:
    """A plan over north and south together: each side may know of its own half only."""
    cast = world.cast
    conflict = f"{mark('Person', 'south')} already sits in {mark('Stand', 'south')} one"
    for kind, state in (("joint_plan", PlanState.PUBLISHED), ("joint_draft", PlanState.DRAFT)):
        plan = make_plan(
            cast.cooperative, cast.north, cast.south, state=state, booking_conflicts=[conflict]
        )
        world.keep("north", kind, plan)
        for place in ("north", "south"):
            PlannedSeat.objects.create(
                plan=plan,
                property=world.land(place),
                stand_id=world.ids[place]["stand"],
                person_id=world.ids[place]["person"],
                local_date=TODAY + timedelta(days=3),
                kind="evening",
                quality_pct=80,
            )
        plan.explanations = [_unmet(world, "north", "south"), _unmet(world, "south", "north")]
        # Whoever asks in the north too is known there; the south's hunter is not.
        del plan.explanations[1]["asked_on"][world.ids["north"]["property"]]
        plan.relaxations["gains"] = [
            {
                "code": "stand_resting",
                "target": "stand",
                "target_id": world.ids[place]["stand"],
                "sentence": mark("Stand", place),
                "more_sits_at_least": 1,
                "more_sits_at_most": 1,
                "basis": "solved",
            }
            for place in ("north", "south")
        ]
        plan.save()


def _unmet(world: World, place: str, other: str) -> dict[str, Any]:
    """A wish for one half; a seat on the other stands behind one of its obstacles."""

    def obstacle(code: str, told_of: str, counted_on: list[str]) -> dict[str, Any]:
        return {
            "stand": world.ids[place]["stand"],
            "stand_name": mark("Stand", place),
            "property": world.ids[place]["property"],
            "local_date": (TODAY + timedelta(days=3)).isoformat(),
            "kind": "evening",
            "guests": [],
            "code": code,
            "sentence": mark("Obstacle", told_of),
            "seats_in_the_way": 1,
            "counted_on": counted_on,
        }

    return {
        "person": world.ids[place]["person"],
        "sits_requested": 3,
        "sits": 1,
        "sentence": mark("Unmet", place),
        "kept_out": [mark("Keptout", other)],
        "asked_on": {world.ids[place]["property"]: 2, world.ids[other]["property"]: 1},
        "obstacles": [
            obstacle("stand_resting", place, []),
            obstacle("daily_limit", other, [world.ids[other]["property"]]),
        ],
    }


def mark_contacts(world: World) -> None:
    """Everybody's but the callers' own and their guests', which they read themselves."""
    cast = world.cast
    callers = (cast.coordinator, cast.manager, cast.member, cast.landowner, cast.stranger)
    own = {person.id for person in callers}
    for person in Person.objects.exclude(id__in=own).exclude(host__in=own):
        person.phone = person.emergency_contact_name = person.emergency_contact_phone = CONTACT
        person.email = f"{CONTACT}-{person.id.hex[-6:]}@example.org"
        person.save()
