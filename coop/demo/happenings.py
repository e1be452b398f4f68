"""The season's work and what the landowners were told: invented, one list of each."""

from dataclasses import dataclass

from coop.demo import people, scenario
from coop.demo.build import Built, builder
from coop.demo.layout import GroundPlan
from coop.demo.scenario import Calendar
from coop.reports.models import NoteTopic
from coop.reports.services import create_note
from properties.land.models import Feature
from properties.stands.models import Stand
from scheduling.errands.models import Errand, ErrandKind, ErrandState
from scrapes.cameras.models import CameraUnit
from scrapes.care.models import ScentApplication
from scrapes.sites.models import Scrape


@dataclass(frozen=True, kw_only=True)
class WorkPlan:
    """Something done: ``thing`` is the name of the scrape, camera or stand."""

    ground: str
    kind: ErrandKind
    thing: str
    days_ago: int
    by: str
    reason: str
    note: str


@dataclass(frozen=True, kw_only=True)
class NotePlan:
    ground: str
    topic: NoteTopic
    days_ago: int
    what: str
    done: str = ""
    feature: str = ""


_FIRST_SCENT_DAYS_AGO = 90

WORKS = (
    WorkPlan(
        ground=people.RIDGE,
        kind=ErrandKind.REFRESH_SCENT,
        thing="Long plot scrape",
        days_ago=47,
        by="Ezra Lindqvist",
        reason="Visits had fallen below what the season let expect.",
        note="Refreshed from the south gate, wind from the north-west.",
    ),
    WorkPlan(
        ground=people.RIDGE,
        kind=ErrandKind.TRIM,
        thing="Ridge ladder",
        days_ago=33,
        by="Jonah Beck",
        reason="A limb had come down into the lane of fire.",
        note="Two limbs cut, hauled off.",
    ),
    WorkPlan(
        ground=people.RIDGE,
        kind=ErrandKind.CHECK_CAMERA,
        thing="Q-3",
        days_ago=21,
        by="Silas Brandt",
        reason="Card due to be pulled.",
        note="Card changed, batteries good.",
    ),
    WorkPlan(
        ground=people.DRAWS,
        kind=ErrandKind.CHECK_CAMERA,
        thing="S-7",
        days_ago=65,
        by="Junie Calder",
        reason="Card was full and the lens grown over.",
        note="Taken down; S-4 hung in its place.",
    ),
    WorkPlan(
        ground=people.DRAWS,
        kind=ErrandKind.REFRESH_SCENT,
        thing="Spine scrape",
        days_ago=36,
        by="Opal Reyes",
        reason="Visits had fallen below what the season let expect.",
        note="Refreshed with other work on the way.",
    ),
    WorkPlan(
        ground=people.BOTTOM,
        kind=ErrandKind.CHECK_CAMERA,
        thing="N-2",
        days_ago=37,
        by="Walt Jessup",
        reason="Only blank pictures since the storm.",
        note="Branch taken off the lens.",
    ),
    WorkPlan(
        ground=people.BOTTOM,
        kind=ErrandKind.TRIM,
        thing="Slough ladder",
        days_ago=26,
        by="Soren Kjeld",
        reason="Brush grown into the way in.",
        note="Way in cleared by hand.",
    ),
)

NOTES = (
    NotePlan(
        ground=people.RIDGE,
        topic=NoteTopic.GATE,
        days_ago=29,
        what="The south gate was found open one morning.",
        done="Shut at once, every member reminded, a chain put on.",
    ),
    NotePlan(
        ground=people.RIDGE,
        topic=NoteTopic.WORK,
        days_ago=34,
        what="The Long plot was mown and sown again.",
        feature="Long plot",
    ),
    NotePlan(
        ground=people.DRAWS,
        topic=NoteTopic.DAMAGE,
        days_ago=31,
        what="A wheel rut across the west lane after rain.",
        done="Filled with gravel the same week.",
    ),
    NotePlan(
        ground=people.BOTTOM,
        topic=NoteTopic.INCIDENT,
        days_ago=28,
        what="A dog from the road ran through during an evening.",
        done="Its owner came and took it home.",
    ),
    NotePlan(
        ground=people.BOTTOM,
        topic=NoteTopic.WORK,
        days_ago=39,
        what="The low crossing was cleared of driftwood.",
        done="Open again for the tractor.",
    ),
)


def write_work(built: Built, ground: GroundPlan, calendar: Calendar) -> int:
    """Errands done, and the scent that began each mock scrape; returns how many rows."""
    land = built.land_of(ground)
    scrapes = {scrape.name: scrape for scrape in Scrape.objects.filter(property=land)}
    things: dict[str, Scrape | CameraUnit | Stand] = {
        **scrapes,
        **{camera.name: camera for camera in CameraUnit.objects.filter(property=land)},
        **{stand.name: stand for stand in Stand.objects.filter(property=land)},
    }
    works = [plan for plan in WORKS if plan.ground == ground.key]
    Errand.objects.bulk_create(_errand(built, things[plan.thing], plan, calendar) for plan in works)
    scent = [
        ScentApplication(
            scrape=scrape,
            applied_at=calendar.at(-_FIRST_SCENT_DAYS_AGO - number, 11),
            applied_by=built.persons["Silas Brandt"],
            scent=scenario.SCENT,
        )
        for number, scrape in enumerate(scrapes.values())
        if scrape.kind == "mock"
    ]
    scent += [
        ScentApplication(
            scrape=scrapes[plan.thing],
            applied_at=calendar.at(-plan.days_ago, 12),
            applied_by=built.persons[plan.by],
            scent=scenario.SCENT,
        )
        for plan in works
        if plan.kind == ErrandKind.REFRESH_SCENT
    ]
    ScentApplication.objects.bulk_create(scent)
    return len(works) + len(scent)


def _errand(
    built: Built, thing: Scrape | CameraUnit | Stand, plan: WorkPlan, calendar: Calendar
) -> Errand:
    return Errand(
        property=built.lands[plan.ground],
        kind=plan.kind,
        thing_id=thing.id,
        scrape=thing if isinstance(thing, Scrape) else None,
        camera=thing if isinstance(thing, CameraUnit) else None,
        stand=thing if isinstance(thing, Stand) else None,
        state=ErrandState.DONE,
        reason=plan.reason,
        due_on=calendar.day(2 - plan.days_ago),
        assignee=built.persons[plan.by],
        done_at=calendar.at(-plan.days_ago, 12),
        done_by=built.persons[plan.by],
        done_note=plan.note,
    )


def write_notes(built: Built, ground: GroundPlan, calendar: Calendar) -> int:
    """What managers told the landowner; returns how many notes."""
    land = built.land_of(ground)
    mapped = {feature.name: feature for feature in Feature.objects.filter(property=land)}
    plans = [plan for plan in NOTES if plan.ground == ground.key]
    for plan in plans:
        create_note(
            actor=builder(),
            land=land,
            fields={
                "topic": plan.topic,
                "happened_on": calendar.day(-plan.days_ago),
                "what": plan.what,
                "done": plan.done,
                "feature": mapped[plan.feature] if plan.feature else None,
            },
            now=calendar.now,
        )
    return len(plans)
