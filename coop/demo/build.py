"""Write the invented cooperative: land, people, stands, scrapes, cameras, wishes.

Through the services of each room wherever a person would have done it, so that everything is
checked and on record as it would be in earnest.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from django.db import transaction

from coop.access.actors import Actor, system_actor
from coop.demo import out_there, people, scenario
from coop.demo.ground import GROUNDS
from coop.demo.ground_geometry import Draughtsman
from coop.demo.harvest_and_herd import write_a_survey, write_a_tag
from coop.demo.layout import GroundPlan, StandPlan
from coop.demo.leases import lease_with_regulations
from coop.demo.membership import write_people
from coop.demo.obligations import write_obligations
from coop.demo.scenario import Calendar
from properties.land.models import Cooperative, Property
from properties.land.services import close_property, create_feature, create_property
from properties.land.years import year_of
from properties.people.models import Outfitter, Person
from properties.people.outfitter_services import create_outfitter, share_property
from properties.sessions.services import create_season
from properties.stands.models import Stand
from properties.stands.services import create_stand, exclude, record_inspection
from scheduling.sits.models import HarvestPlan
from scheduling.sits.request_services import create_request
from scheduling.sits.settings import SitSettings
from scrapes.sites.models import Scrape
from scrapes.sites.services import create_scrape, record_event

BOW_SHOT_M = 27.0
FAMILY_DAY_IN_DAYS = 6


def builder() -> Actor:
    return system_actor("demo")


@dataclass(frozen=True, kw_only=True)
class Built:
    """The invented cooperative as it stands in the database, by key and by name."""

    cooperative: Cooperative
    lands: Mapping[str, Property]
    persons: Mapping[str, Person]
    outfitter: Outfitter

    def land_of(self, ground: GroundPlan) -> Property:
        return self.lands[ground.key]


def find_built(calendar: Calendar) -> Built | None:
    """The demo laid out for the same day, where it stands already."""
    cooperative = Cooperative.objects.filter(name=calendar.cooperative_name).first()
    if cooperative is None:
        return None
    by_name = {land.name: land for land in Property.objects.filter(cooperative=cooperative)}
    return Built(
        cooperative=cooperative,
        lands={ground.key: by_name[ground.name] for ground in GROUNDS},
        persons={person.name: person for person in Person.objects.filter(cooperative=cooperative)},
        outfitter=Outfitter.objects.get(cooperative=cooperative),
    )


@transaction.atomic
def build(calendar: Calendar) -> Built:
    """Write everything but what is imported and what happened; all of it or nothing."""
    cooperative = Cooperative.objects.create(
        name=calendar.cooperative_name, settings=scenario.SETTINGS
    )
    lands = {ground.key: _land(cooperative, ground, calendar) for ground in GROUNDS}
    persons = write_people(actor=builder(), cooperative=cooperative, lands=lands, calendar=calendar)
    built = Built(
        cooperative=cooperative,
        lands=lands,
        persons=persons,
        outfitter=_outfitter(cooperative, lands, calendar),
    )
    _wishes(built, calendar)
    write_obligations(
        actor=builder(),
        members=[persons[plan.name] for plan in people.MEMBERS],
        worked_on=lands[people.RIDGE],
        young=persons[people.GUESTS[-1].name],
        calendar=calendar,
    )
    for number, land in enumerate(lands.values(), start=1):
        out_there.lay_out(actor=builder(), land=land, number=number, calendar=calendar)
    noted = persons[people.MEMBERS[0].name]
    out_there.write_a_note(actor=builder(), person=noted, calendar=calendar)
    lease_with_regulations(
        actor=builder(),
        land=lands[people.RIDGE],
        landowner=persons[people.LANDOWNERS[0].name],
        calendar=calendar,
    )
    write_a_tag(actor=builder(), person=noted, calendar=calendar)
    write_a_survey(
        manager=persons[_manager_of(people.RIDGE)], land=lands[people.RIDGE], calendar=calendar
    )
    close_property(
        actor=builder(),
        land=lands[people.BOTTOM],
        first_on=calendar.day(FAMILY_DAY_IN_DAYS),
        last_on=calendar.day(FAMILY_DAY_IN_DAYS),
        reason="Family day of the landowner",
        now=calendar.now,
    )
    return built


def _manager_of(ground: str) -> str:
    return next(plan.name for plan in people.MEMBERS if plan.manages == ground)


def _land(cooperative: Cooperative, ground: GroundPlan, calendar: Calendar) -> Property:
    drawn = Draughtsman(ground)
    land = create_property(
        actor=builder(),
        cooperative=cooperative,
        fields={
            "name": ground.name,
            "time_zone": scenario.TIME_ZONE,
            "boundary": drawn.area(ground.boundary),
            "peak_of_breeding": calendar.peak_of_breeding,
            "access_notes": ground.access_notes,
        },
        now=calendar.now,
    )
    for plan in ground.features:
        create_feature(
            actor=builder(),
            land=land,
            fields={
                "kind": plan.kind,
                "name": plan.name,
                "geometry": drawn.feature(plan),
                "hazard_sort": plan.hazard_sort,
                "notes": plan.notes,
            },
            now=calendar.now,
        )
    _stands(land, ground, drawn, calendar)
    _scrapes(land, ground, drawn, calendar)
    _season(land, ground, calendar)
    return land


def _stands(land: Property, ground: GroundPlan, drawn: Draughtsman, calendar: Calendar) -> None:
    stands = {plan.name: _stand(land, plan, drawn, calendar) for plan in ground.stands}
    if ground.key == people.RIDGE:
        exclude(
            actor=builder(),
            first=stands["Saddle ladder"],
            second=stands["South draw hang-on"],
            reason="The way to the one leads upwind of the other.",
            now=calendar.now,
        )


def _stand(land: Property, plan: StandPlan, drawn: Draughtsman, calendar: Calendar) -> Stand:
    stand = create_stand(
        actor=builder(),
        land=land,
        fields={
            "name": plan.name,
            "kind": plan.kind,
            "geometry": drawn.point(plan.at),
            "seat_height_m": plan.seat_height_m,
            "arc_from_deg": plan.arc[0],
            "arc_to_deg": plan.arc[1],
            "shot_distance_m": BOW_SHOT_M,
            "capacity": plan.capacity,
            "cover": plan.cover,
            "slope_aspect_deg": plan.slope_aspect_deg,
            "slope_deg": plan.slope_deg,
            "approach_route": drawn.approach(plan),
            "exit_route": drawn.way_out(plan),
            "notes": plan.notes,
        },
        now=calendar.now,
    )
    inspections = [(plan.inspected_days_ago, True, "Straps, bolts and tree checked.")]
    if plan.failed_days_ago is not None:
        inspections.append((plan.failed_days_ago, False, "Upper strap rotted through."))
    for days_ago, passed, notes in inspections:
        record_inspection(
            actor=builder(),
            stand=stand,
            inspected_on=calendar.day(-days_ago),
            inspected_by="Silas Brandt",
            passed=passed,
            notes=notes,
            now=calendar.now,
        )
    return stand


def _scrapes(land: Property, ground: GroundPlan, drawn: Draughtsman, calendar: Calendar) -> None:
    for plan in ground.scrapes:
        made_on = calendar.day(-scenario.RECORD_DAYS - 20)
        is_mock = plan.kind == "mock"
        scrape = create_scrape(
            actor=builder(),
            land=land,
            fields={
                "name": plan.name,
                "kind": plan.kind,
                "geometry": drawn.point(plan.at),
                "branch_azimuth_deg": plan.branch_azimuth_deg if is_mock else None,
                "branch_height_m": 1.3,
                "made_on": made_on if is_mock else None,
                "notes": plan.notes,
            },
            now=calendar.now,
        )
        if is_mock:
            record_event(
                actor=builder(), scrape=scrape, happened_on=made_on, what="built", now=calendar.now
            )


def _season(land: Property, ground: GroundPlan, calendar: Calendar) -> None:
    first_on, last_on = calendar.season
    create_season(
        actor=builder(),
        land=land,
        fields={
            "name": "Bow (invented dates)",
            "first_on": first_on,
            "last_on": last_on,
            "weapons": ["bow", "crossbow"],
            "source_url": "https://state.example/regulations",
        },
        now=calendar.now,
    )
    HarvestPlan.objects.bulk_create(
        HarvestPlan(property=land, season_year=year, harvest_class=kind, planned=planned)
        for year in sorted({_season_year(calendar, ahead) for ahead in (-56, 0, 45)})
        for kind, planned in ground.planned_harvest.items()
    )


def _season_year(calendar: Calendar, ahead: int) -> int:
    return year_of(calendar.day(ahead), first_month=SitSettings().season_year_first_month)


def _outfitter(
    cooperative: Cooperative, lands: Mapping[str, Property], calendar: Calendar
) -> Outfitter:
    outfitter, _credential = create_outfitter(
        actor=builder(),
        cooperative=cooperative,
        fields={
            "name": scenario.OUTFITTER,
            "contact_name": "Pia Marlowe",
            "contact_email": people.email_of("Pia Marlowe"),
        },
        now=calendar.now,
    )
    for key in (people.RIDGE, people.BOTTOM):
        share_property(actor=builder(), outfitter=outfitter, land=lands[key], now=calendar.now)
    return outfitter


def _wishes(built: Built, calendar: Calendar) -> None:
    stands = {
        (stand.property_id, stand.name): str(stand.id)
        for stand in Stand.objects.filter(property__cooperative=built.cooperative)
    }
    for wish in people.WISHES:
        land = built.lands[wish.ground]
        create_request(
            actor=builder(),
            land=land,
            person=built.persons[wish.person],
            fields={
                "first_on": calendar.day(wish.first_in_days),
                "last_on": calendar.day(wish.last_in_days),
                "wanted_sits": wish.sits,
                "kinds": list(wish.kinds),
                "wanted_stands": {
                    stands[land.id, name]: percent for name, percent in wish.stands.items()
                },
                "guests": [str(built.persons[name].id) for name in wish.guests],
            },
            now=calendar.now,
        )


def scrapes_by_name(built: Built) -> dict[str, Scrape]:
    rows = Scrape.objects.filter(property__cooperative=built.cooperative)
    return {scrape.name: scrape for scrape in rows}
