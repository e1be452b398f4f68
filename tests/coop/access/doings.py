"""Sits, plans, errands, reports and records of a place."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from coop.access.actors import system_actor
from coop.access.models import PersonalToken
from coop.audit.models import AuditEvent
from coop.jobs.models import JobRun, JobState
from coop.outbox.models import Message, MessageState
from coop.outbox.webhooks.models import WebhookDelivery, WebhookEndpoint
from coop.printing.paper import Paper as PrintedPaper
from coop.reports import services as report_services
from coop.reports.models import LandNote
from coop.reports.season import services as season_services
from properties.land.models import Cooperative, Property
from properties.people.models import (
    Person,
)
from scheduling.errands.models import Errand
from scheduling.rotation.models import PlannedSeat, PlanState, RotationPlan
from scheduling.sits.calendar_models import CalendarFeed
from scheduling.sits.models import (
    Harvest,
    HarvestPlan,
    Sit,
    SitReport,
    SitRequest,
    SitState,
)
from scheduling.sits.transfer_models import SitTransfer
from scheduling.sits.waiting_models import WaitingEntry
from scheduling.sync.export_kinds import HARVESTS, SITS
from scheduling.worklist.models import WorkItem, WorkTemplate
from tests.cast import NOW
from tests.coop.access.places import CONTACT, TODAY, World, mark


def make_sit(
    world: World, place: str, person: Person, stand: str, *, day: date = TODAY, **fields: Any
) -> Sit:
    starts_at = datetime(day.year, day.month, day.day, 19, 30, tzinfo=UTC)
    return Sit.objects.create(
        property=world.land(place),
        stand_id=world.ids[place][stand],
        person=person,
        local_date=day,
        span="evening",
        starts_at=starts_at,
        ends_at=starts_at + timedelta(hours=4),
        weapon="bow",
        **fields,
    )


def make_sit_report(sit: Sit, place: str, whose: str = "") -> SitReport:
    return SitReport.objects.create(
        sit=sit,
        reported_at=NOW,
        incident=mark(f"{whose}Incident", place),
        notes=mark(f"{whose}Sitnote", place),
        stand_condition=mark(f"{whose}Condition", place),
    )


def make_sits(world: World, place: str) -> None:
    land = world.land(place)
    hunter = Person.objects.get(id=world.ids[place]["person"])
    world.keep(place, "sit", make_sit(world, place, hunter, "other_stand"))
    past = make_sit(
        world, place, hunter, "stand", day=TODAY - timedelta(days=5), state=SitState.REPORTED
    )
    world.keep(place, "sit_report", make_sit_report(past, place))
    world.keep(
        place,
        "harvest",
        Harvest.objects.create(
            property=land,
            sit=past,
            person=hunter,
            harvest_class="antlered",
            taken_at=past.ends_at,
            notes=mark("Harvestnote", place),
        ),
    )
    world.keep(
        place,
        "harvest_plan",
        HarvestPlan.objects.create(
            property=land, season_year=2025, harvest_class="antlered", planned=3
        ),
    )
    other = Person.objects.create(
        cooperative=land.cooperative, name=mark("Receiver", place), host=hunter
    )
    world.keep(
        place,
        "sit_transfer",
        make_transfer(world, place, Sit.objects.get(id=world.ids[place]["sit"]), other),
    )
    world.keep(place, "waiting_entry", make_waiting(world, place, hunter))
    world.keep(
        place,
        "sit_request",
        SitRequest.objects.create(
            property=land,
            person=hunter,
            first_on=TODAY,
            last_on=TODAY + timedelta(days=9),
            wanted_sits=2,
        ),
    )


def make_transfer(world: World, place: str, sit: Sit, receiver: Person) -> SitTransfer:
    return SitTransfer.objects.create(
        property=world.land(place),
        sit=sit,
        stand=sit.stand,
        giver=sit.person,
        receiver=receiver,
        message=mark("Transfer", place),
        offered_at=NOW,
    )


def make_waiting(world: World, place: str, person: Person) -> WaitingEntry:
    day = TODAY + timedelta(days=2)
    return WaitingEntry.objects.create(
        property=world.land(place),
        person=person,
        local_date=day,
        span="evening",
        starts_at=datetime(day.year, day.month, day.day, 19, 30, tzinfo=UTC),
        asked_at=NOW,
        outcome=mark("Waiting", place),
    )


def make_plan(
    cooperative: Cooperative, *lands: Property, state: str, **fields: Any
) -> RotationPlan:
    plan = RotationPlan.objects.create(
        cooperative=cooperative,
        first_on=TODAY,
        last_on=TODAY + timedelta(days=9),
        state=state,
        fingerprint="made",
        problem={},
        result={
            "status": "optimal",
            "seconds": 0.1,
            "seed": 1,
            "requested": 1,
            "levels": [],
            "booking_conflicts": [],
            **fields,
        },
        explanations=[],
        relaxations={
            "weighed_at": NOW.isoformat(),
            "seconds": 0.1,
            "without_gain": 0,
            "not_tried": 0,
            "gains": [],
        },
        computed_at=NOW,
        published_at=NOW if state == PlanState.PUBLISHED else None,
    )
    plan.properties.set(lands)
    return plan


def make_work(world: World, place: str) -> None:
    land, ids = world.land(place), world.ids[place]
    plan = make_plan(land.cooperative, land, state=PlanState.PUBLISHED)
    world.keep(place, "rotation_plan", plan)
    PlannedSeat.objects.create(
        plan=plan,
        property=land,
        stand_id=ids["stand"],
        person_id=ids["person"],
        local_date=TODAY + timedelta(days=2),
        kind="evening",
        quality_pct=80,
    )
    world.keep(place, "draft_plan", make_plan(land.cooperative, land, state=PlanState.DRAFT))
    world.keep(
        place,
        "errand",
        Errand.objects.create(
            property=land,
            kind="trim",
            thing_id=ids["other_stand"],
            stand_id=ids["other_stand"],
            reason=mark("Errand", place),
            due_on=TODAY,
        ),
    )
    template = WorkTemplate.objects.create(
        property=land, task="survey", title=mark("Worktitle", place), anchor="peak"
    )
    world.keep(place, "work_template", template)
    world.keep(
        place,
        "work_item",
        WorkItem.objects.create(
            property=land,
            template=template,
            origin_key=f"template:{template.id}:2025",
            task="survey",
            title=mark("Worktitle", place),
            week_on=date(2025, 11, 3),
            due_on=date(2025, 11, 5),
            about_id=land.id,
        ),
    )
    world.keep(
        place,
        "land_note",
        LandNote.objects.create(
            property=land,
            happened_on=date(2025, 10, 12),
            topic="gate",
            what=mark("Landnote", place),
        ),
    )
    world.keep(
        place,
        "job",
        JobRun.objects.create(
            name="report", property_id=land.id, due_at=NOW, progress_note=mark("Job", place)
        ),
    )
    world.keep(
        place,
        "message",
        Message.objects.create(
            once_key=place,
            recipient=f"{CONTACT}@example.org",
            subject=mark("Message", place),
            text=mark("Message", place),
            cooperative_id=land.cooperative_id,
            state=MessageState.DEAD,
            due_at=NOW,
        ),
    )
    world.keep(
        place,
        "audit_event",
        AuditEvent.objects.create(
            recorded_at=NOW,
            actor_kind="person",
            actor_name=mark("Auditor", place),
            action="stand:write",
            object_kind="stand",
            object_id=ids["stand"],
            property_id=land.id,
        ),
    )
    hunter = Person.objects.get(id=ids["person"])
    keep_webhook(world, place, "webhook", user=hunter.user)
    keep_exports(world, place, hunter)
    world.keep(
        place,
        "calendar_feed",
        CalendarFeed.objects.create(person=hunter, property=land, digest=f"digest-{place}"),
    )
    row, _text = PersonalToken.objects.create(user=hunter.user, name=mark("Token", place))
    ids["token"] = row.token_key


def keep_webhook(world: World, place: str, kind: str, **registrant: Any) -> None:
    land, word = world.land(place), mark(kind.title().replace("_", ""), place)
    endpoint = WebhookEndpoint.objects.create(
        property_id=land.id,
        url=f"https://hooks.example.org/{word}",
        description=word,
        event_types=["stand.closed"],
        secret_nonce="nonce",
        **registrant,
    )
    world.keep(place, kind, endpoint)
    delivery = WebhookDelivery.objects.create(
        endpoint=endpoint, type="stand.closed", occurred_at=NOW, due_at=NOW
    )
    world.keep(place, f"{kind}_delivery", delivery)


def make_report(world: World, place: str) -> None:
    """A month really written from what stands here, without the paper, which takes a second."""
    keep_paper = report_services.to_pdf
    report_services.to_pdf = lambda _html: PrintedPaper(pdf=b"%PDF", missing_reason="")
    try:
        written = report_services.write_month(
            actor=system_actor("test"), land=world.land(place), month=date(2025, 10, 1), now=NOW
        )
    finally:
        report_services.to_pdf = keep_paper
    world.keep(place, "report", written.report)


def make_season_reports(world: World) -> None:
    """The season of each cooperative, without the paper; north and south share one."""
    keep_paper = season_services.to_pdf
    season_services.to_pdf = lambda _html: PrintedPaper(pdf=b"%PDF", missing_reason="")
    try:
        for places in (("north", "south"), ("foreign",)):
            written = season_services.write_season(
                actor=system_actor("test"),
                cooperative=world.land(places[0]).cooperative,
                season_year=2025,
                now=NOW,
            )
            for place in places:
                world.keep(place, "season_report", written.report)
    finally:
        season_services.to_pdf = keep_paper


def keep_exports(world: World, place: str, person: Person, *, prefix: str = "") -> None:
    """Runs that made a file; each bears the same name in every run of the tests."""
    assert person.user is not None
    for name, kind in (("sit_export", SITS), ("harvest_export", HARVESTS)):
        file = f"{kind.address}/of-a-test-{place}-{person.user.id}.csv"
        default_storage.delete(file)
        default_storage.save(file, ContentFile(mark("Exported", place).encode()))
        run = JobRun.objects.create(
            name=kind.job,
            scope=f"person:{person.user.id}",
            property_id=world.land(place).id,
            state=JobState.DONE,
            due_at=NOW,
            finished_at=NOW,
            result={kind.things: 1},
            parameters={
                "file": file,
                **dict.fromkeys(kind.shows, False),
                "first_on": "2025-10-01",
                "last_on": "2025-12-31",
                "format": "csv",
            },
        )
        world.keep(place, f"{prefix}{name}", run)
