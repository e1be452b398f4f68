"""Invented months to report: a rich one, a poor one, an empty one. Nobody here is real."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from coop.reports.models import LandNote
from properties.land.models import Closure, Feature, Property
from properties.people.models import Paper, Person
from properties.sessions.models import Season
from properties.stands.models import Inspection, Stand
from properties.wind.models import ObservedHour
from scheduling.errands.models import Errand
from scheduling.sits.models import (
    Harvest,
    HarvestPlan,
    Sighting,
    Sit,
    SitReport,
)
from scrapes.cameras.models import (
    CameraStatus,
    CameraUnit,
    Deployment,
    Observation,
    ObservationImport,
)
from scrapes.care.models import ScentApplication
from scrapes.sites.models import Scrape
from scrapes.visits.season_curve import relative_use
from scrapes.visits.settings import SeasonSettings
from tests.cast import Cast, make_member, make_person, make_stand, square

ZONE = ZoneInfo("America/Chicago")
OCTOBER = date(2025, 10, 1)
AFTER = datetime(2025, 11, 1, 11, 30, tzinfo=UTC)
BEGINNING = datetime(2025, 10, 12, 18, 0, tzinfo=UTC)

NAMES = (
    "Ann Abernathy",
    "Ben Castillo",
    "Carl Dvorak",
    "Dee Ellsworth",
    "Earl Fontaine",
    "Fay Guthrie",
    "Gus Hollander",
)


@dataclass(frozen=True, kw_only=True)
class RichMonth:
    land: Property
    people: tuple[Person, ...]
    guest: Person
    stands: tuple[Stand, ...]
    scrapes: tuple[Scrape, ...]


def local(on: date, hour: int, minute: int = 0) -> datetime:
    return datetime.combine(on, time(hour, minute), tzinfo=ZONE).astimezone(UTC)


def make_sit(stand: Stand, person: Person, on: date, span: str, **fields: Any) -> Sit:
    starts, ends = {"morning": (6, 11), "evening": (15, 19), "all_day": (6, 19)}[span]
    values: dict[str, Any] = {
        "state": "reported",
        "starts_at": local(on, starts),
        "ends_at": local(on, ends),
        "checked_in_at": local(on, starts, 5),
        "checked_out_at": local(on, ends - 1, 40),
    }
    return Sit.objects.create(
        property=stand.property,
        stand=stand,
        person=person,
        local_date=on,
        span=span,
        **{**values, **fields},
    )


def make_report(sit: Sit, *, deer: int = 0, **fields: Any) -> SitReport:
    report = SitReport.objects.create(sit=sit, reported_at=sit.ends_at, **fields)
    if deer:
        Sighting.objects.create(report=report, count=deer)
    return report


def make_rich_month(cast: Cast) -> RichMonth:
    """A busy October on the north property, with a September and a November around it."""
    land = cast.north
    people = tuple(make_member(land.cooperative, name, land) for name in NAMES)
    guest = make_person(land.cooperative, "Hal Visitor", host=people[0])
    client = make_person(land.cooperative, "Ida Clientson")
    Paper.objects.create(person=guest, kind="harness_allergy_note", expires_on=date(2026, 1, 1))
    stands = tuple(
        make_stand(land, f"Stand {letter}", longitude=-91.4912345, latitude=43.2076543)
        for letter in "ABCDE"
    )
    _mapped(land)
    _sits(cast, people, guest, client, stands)
    _harvests(land, people)
    scrapes = _scrapes(land, people[1])
    _work(land, people, stands, scrapes)
    _wind(land)
    _ahead(land, people, stands)
    return RichMonth(land=land, people=people, guest=guest, stands=stands, scrapes=scrapes)


def _mapped(land: Property) -> None:
    for kind, name, west, south, size in (
        ("food_plot", "Creek plot", -91.497, 43.204, 0.002),
        ("food_plot", "Ridge plot", -91.487, 43.213, 0.0025),
        ("water", "Mill pond", -91.493, 43.209, 0.0012),
        ("bedding", "Secret bedding", -91.489, 43.203, 0.002),
        ("sanctuary", "Hidden sanctuary", -91.496, 43.214, 0.002),
    ):
        shape = square(west, south, size)
        Feature.objects.create(
            property=land,
            kind=kind,
            name=name,
            geometry=shape,
            west=west,
            south=south,
            east=west + size,
            north=south + size,
        )


def _sits(cast: Cast, people: Any, guest: Person, client: Person, stands: Any) -> None:
    spans = ("evening", "morning", "evening", "all_day", "evening")
    for number in range(22):
        on = OCTOBER + timedelta(days=(number * number * 3 + number) % 31)
        person = people[number % len(people)]
        span = spans[number % len(spans)]
        sector = None if number % 6 == 5 else (6, 7, 5, 6, 4, 0)[number % 6]
        sit = make_sit(stands[number % 5], person, on, span, observed_sector=sector)
        make_report(sit, deer=number % 5, shots=int(number in (4, 11, 17)))
    on = date(2025, 10, 18)
    for person in people[:4]:
        make_sit(stands[0], person, on, "evening", observed_sector=7)
    make_sit(stands[1], guest, on, "evening", host=people[0], observed_sector=7)
    make_sit(stands[2], client, on, "morning", outfitter=cast.outfitter, observed_sector=6)
    telling = make_sit(stands[3], people[5], date(2025, 10, 25), "evening")
    make_report(
        telling,
        incident="I saw Otto Member sneak in at 43.207654, -91.491234; call 555-0142",
        stand_unsafe=True,
        notes="ten-pointer we call Crooked Brow",
    )
    make_sit(stands[4], people[6], date(2025, 10, 26), "morning", state="cancelled")
    make_sit(
        stands[4], people[6], date(2025, 10, 27), "morning", state="missed", checked_in_at=None
    )


def _harvests(land: Property, people: Any) -> None:
    HarvestPlan.objects.create(property=land, season_year=2025, harvest_class="antlered", planned=3)
    HarvestPlan.objects.create(
        property=land, season_year=2025, harvest_class="antlerless", planned=8
    )
    for kind, on, person in (
        ("antlerless", date(2025, 9, 20), 0),
        ("antlerless", date(2025, 9, 28), 3),
        ("antlerless", date(2025, 10, 5), 1),
        ("antlerless", date(2025, 10, 18), 2),
        ("antlerless", date(2025, 10, 24), 5),
        ("antlered", date(2025, 10, 29), 4),
    ):
        Harvest.objects.create(
            property=land,
            person=people[person],
            harvest_class=kind,
            taken_at=local(on, 17, 30),
            dressed_weight_kg=61.5,
            notes="scar on left shoulder",
        )


def _scrapes(land: Property, keeper: Person) -> tuple[Scrape, ...]:
    batch = ObservationImport.objects.create(
        property=land,
        source="csv",
        file_name="october.csv",
        digest=f"{land.id}",
        imported_at=AFTER,
        rows_read=0,
        rows_taken=0,
    )
    scrapes = []
    for number, (name, rate) in enumerate(
        (("North plot scrape", 1.2), ("Pond scrape", 1.9), ("Old fence scrape", 0.8))
    ):
        scrape = Scrape.objects.create(
            property=land, name=name, kind="mock", longitude=-91.4934567, latitude=43.2098765
        )
        scrapes.append(scrape)
        camera = CameraUnit.objects.create(
            property=land, name=f"Unit {number}", transmits=number == 1
        )
        deployment = Deployment.objects.create(
            camera=camera,
            scrape=scrape,
            starts_at=local(date(2025, 8, 15), 12),
            longitude=-91.4934567,
            latitude=43.2098765,
        )
        CameraStatus.objects.create(
            camera=camera, reported_at=local(date(2025, 11, 1), 1), card_pulled=number != 1
        )
        _observations(deployment, batch, rate=rate, seed=number)
        if number == 0:
            ScentApplication.objects.create(
                scrape=scrape,
                applied_at=local(date(2025, 10, 16), 12),
                applied_by=keeper,
                scent="synthetic",
            )
    scrapes.append(
        Scrape.objects.create(
            property=land,
            name="Unwatched scrape",
            kind="native",
            longitude=-91.4934567,
            latitude=43.2098765,
        )
    )
    return tuple(scrapes)


def _observations(
    deployment: Deployment, batch: ObservationImport, *, rate: float, seed: int
) -> None:
    random = np.random.default_rng(seed)
    rows = []
    for day in range(78):
        on = date(2025, 8, 15) + timedelta(days=day)
        season = float(relative_use((on - date(2025, 11, 13)).days, settings=SeasonSettings()))
        falling = 0.25 if seed == 0 and date(2025, 10, 5) < on < date(2025, 10, 16) else 1.0
        for visit in range(random.poisson(rate * season * falling)):
            at = local(on, int(random.integers(0, 24)), int(random.integers(0, 60)))
            if at <= deployment.starts_at:
                continue
            for picture in range(3):
                rows.append(
                    Observation(
                        deployment=deployment,
                        batch=batch,
                        source_key=f"{day}-{visit}-{picture}",
                        observed_at=at + timedelta(seconds=20 * picture),
                        kind="animal",
                        species="Odocoileus virginianus",
                        individual="Crooked Brow" if visit == 0 and day % 9 == 0 else "",
                    )
                )
    rows.append(
        Observation(
            deployment=deployment,
            batch=batch,
            source_key="untagged",
            observed_at=local(date(2025, 10, 30), 3),
            kind="unclassified",
        )
    )
    Observation.objects.bulk_create(rows)


def _work(land: Property, people: Any, stands: Any, scrapes: Any) -> None:
    plot = Feature.objects.get(property=land, name="Creek plot")
    for topic, on, what, done, feature in (
        (
            "gate",
            date(2025, 10, 12),
            "The lower gate stood open in the morning.",
            "Closed the same day; the chain was replaced on the 14th.",
            None,
        ),
        ("damage", date(2025, 10, 21), "Ruts on the creek lane after rain.", "", None),
        ("work", date(2025, 10, 9), "Creek plot limed and seeded with rye.", "", plot),
    ):
        LandNote.objects.create(
            property=land, happened_on=on, topic=topic, what=what, done=done, feature=feature
        )
    for kind, on, person, scrape in (
        ("check_camera", date(2025, 10, 16), people[1], None),
        ("check_camera", date(2025, 10, 30), people[2], None),
        ("refresh_scent", date(2025, 10, 16), people[1], scrapes[0]),
    ):
        Errand.objects.create(
            property=land,
            kind=kind,
            thing_id=scrapes[0].id,
            scrape=scrape,
            state="done",
            reason="visits fell at 43.2098765",
            due_on=on,
            done_at=local(on, 12),
            done_by=person,
        )
    for number, stand in enumerate(stands[:3]):
        Inspection.objects.create(
            stand=stand, inspected_on=date(2025, 10, 2), inspected_by="Max", passed=number != 2
        )


def _wind(land: Property) -> None:
    random = np.random.default_rng(7)
    hours = []
    for hour in range(31 * 24):
        at = local(OCTOBER, 0) + timedelta(hours=hour)
        calm = hour % 11 == 0
        hours.append(
            ObservedHour(
                property=land,
                source="station",
                starts_at=at,
                wind_from_deg=None if calm else float(random.normal(285, 55) % 360),
                speed_mps=0.0 if calm else float(random.gamma(3, 1.2)),
                variable=False,
            )
        )
    ObservedHour.objects.bulk_create(hours)


def _ahead(land: Property, people: Any, stands: Any) -> None:
    Season.objects.create(
        property=land,
        name="Archery",
        first_on=date(2025, 9, 13),
        last_on=date(2025, 11, 21),
        weapons=["bow"],
    )
    Season.objects.create(
        property=land,
        name="Gun deer",
        first_on=date(2025, 11, 22),
        last_on=date(2025, 11, 30),
        weapons=["rifle"],
    )
    Closure.objects.create(
        property=land,
        first_on=date(2025, 10, 7),
        last_on=date(2025, 10, 8),
        reason="Cattle moved",
    )
    Closure.objects.create(
        property=land, first_on=date(2025, 11, 10), last_on=date(2025, 11, 12), reason="Logging"
    )
    for number in range(9):
        make_sit(
            stands[number % 5],
            people[number % 7],
            date(2025, 11, 2) + timedelta(days=number),
            "evening",
            state="booked",
            checked_in_at=None,
            checked_out_at=None,
        )
    Errand.objects.create(
        property=land,
        kind="inspect_stand",
        thing_id=stands[2].id,
        stand=stands[2],
        reason="failed",
        due_on=date(2025, 11, 5),
    )


def make_poor_month(cast: Cast) -> Property:
    """One evening and one deer without a plan."""
    land = cast.south
    sit = make_sit(
        make_stand(land, "Lone stand"),
        cast.other_member,
        date(2025, 10, 11),
        "evening",
        state="checked_out",
    )
    Harvest.objects.create(
        property=land,
        sit=sit,
        person=cast.other_member,
        harvest_class="antlerless",
        taken_at=local(date(2025, 10, 11), 17),
    )
    return land
