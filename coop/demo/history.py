"""Write the season that was: sits with reports, deer seen and taken, work, notes.

In bulk, since these rows stand for many days of many people; the observed winds behind them came
in through the import before.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zlib import crc32

import numpy as np
from django.db import transaction

from coop.demo import people, scenario
from coop.demo.build import Built
from coop.demo.files import winds_of
from coop.demo.ground import GROUNDS
from coop.demo.happenings import write_notes, write_work
from coop.demo.harvest_and_herd import deer_data
from coop.demo.layout import GroundPlan
from coop.demo.past_sits import PastSit, SessionWind, past_sits
from coop.demo.scenario import Calendar
from coop.demo.weather import Weather
from properties.land.models import Property
from properties.sessions.kinds import SessionKey, SessionKind
from properties.sessions.queries import windows_of
from properties.sessions.windows import SessionWindow
from properties.stands.models import Stand
from properties.wind.queries import observed_sector
from scheduling.sits.models import (
    DeerAlarm,
    Harvest,
    SeatClaim,
    Sighting,
    Sit,
    SitReport,
    SitState,
)

MISSED = ("Ulric Baines", -18)
"""A member who did not come and was excused."""

_TURNS_AT = {"South draw ladder": 20.0, "Fence ladder": -15.0}
"""What the lie of the land does to the wind at some stands, in degrees; to be learned."""

# The stand that was sat on two south-west evenings already: two is the cap.
OVER_HUNTED = "Cedar hang-on"
_FIXED = (
    PastSit(
        ground=people.RIDGE,
        stand=OVER_HUNTED,
        person="Gideon Pratt",
        day=-7,
        kind=SessionKind.EVENING,
    ),
    PastSit(
        ground=people.RIDGE,
        stand=OVER_HUNTED,
        person="Hollis Wray",
        day=-3,
        kind=SessionKind.EVENING,
    ),
    PastSit(
        ground=people.DRAWS,
        stand="Clover ladder",
        person=scenario.OWES_A_REPORT,
        day=-4,
        kind=SessionKind.EVENING,
    ),
    PastSit(
        ground=people.BOTTOM,
        stand="Chicory blind",
        person=MISSED[0],
        day=MISSED[1],
        kind=SessionKind.MORNING,
    ),
)


@dataclass(frozen=True, kw_only=True)
class Written:
    """How many rows of each kind the history holds."""

    sits: int
    reports: int
    harvests: int
    works: int
    notes: int


@dataclass(frozen=True, kw_only=True)
class _Season:
    """What a property's history is written from."""

    built: Built
    ground: GroundPlan
    land: Property
    stands: Mapping[str, Stand]
    windows: Mapping[SessionKey, SessionWindow]
    wind: SessionWind
    air: Weather
    calendar: Calendar


@transaction.atomic
def write_history(built: Built, calendar: Calendar) -> Written | None:
    """The season's rows; None where they stand already."""
    if Sit.objects.filter(property__cooperative=built.cooperative).exists():
        return None
    busy: set[tuple[str, int]] = {(sit.person, sit.day) for sit in _FIXED}
    sits = reports = harvests = works = notes = 0
    for ground in GROUNDS:
        season = _season(built, ground, calendar)
        rng = np.random.default_rng([scenario.SEED, crc32(ground.key.encode())])
        planned = past_sits(
            ground,
            members=_members_of(ground),
            guests={plan.host: plan.name for plan in people.GUESTS},
            wind=season.wind,
            fixed=[sit for sit in _FIXED if sit.ground == ground.key],
            first_day=-scenario.SEASON_FROM_DAYS_AGO,
            busy=busy,
            rng=rng,
        )
        rows = _write_sits(season, planned)
        sits += len(rows)
        told, taken = _write_reports(season, rows, rng)
        reports, harvests = reports + told, harvests + taken
        works += write_work(built, ground, calendar)
        notes += write_notes(built, ground, calendar)
    return Written(sits=sits, reports=reports, harvests=harvests, works=works, notes=notes)


def _members_of(ground: GroundPlan) -> list[str]:
    """Those who sat at random: not whose paper ran out, nor who owes a report for a fixed sit."""
    left_out = {scenario.OWES_A_REPORT, scenario.EXPIRED_PAPER_OF}
    return [
        plan.name
        for plan in people.MEMBERS
        if ground.key in plan.sits_on and plan.name not in left_out
    ]


def _season(built: Built, ground: GroundPlan, calendar: Calendar) -> _Season:
    land = built.land_of(ground)
    first, last = calendar.day(-scenario.SEASON_FROM_DAYS_AGO), calendar.day(-1)
    windows = {
        key: window
        for key, window in windows_of(land, first=first, last=last).items()
        if isinstance(window, SessionWindow)
    }
    sectors = {}
    for key, window in windows.items():
        sector = observed_sector(
            property_id=land.id, starts_at=window.hunt_from, ends_at=window.hunt_until
        )
        if sector is not None:
            sectors[(key.local_date - calendar.today).days, key.kind] = sector
    return _Season(
        built=built,
        ground=ground,
        land=land,
        stands={stand.name: stand for stand in Stand.objects.filter(property=land)},
        windows=windows,
        wind=SessionWind(sectors=sectors),
        air=winds_of(ground)[0],
        calendar=calendar,
    )


def _write_sits(season: _Season, planned: Sequence[PastSit]) -> list[Sit]:
    sits = [
        _sit(season, sit, name)
        for sit in planned
        if SessionKey(season.calendar.day(sit.day), sit.kind) in season.windows
        for name in (sit.person, sit.guest)
        if name
    ]
    Sit.objects.bulk_create(sits)
    seats: dict[tuple[object, object, str], int] = {}
    claims = []
    for sit in sits:
        if sit.state in (SitState.CANCELLED, SitState.MISSED):
            continue
        session = (sit.stand_id, sit.local_date, sit.span)
        seats[session] = seats.get(session, 0) + 1
        claims.append(
            SeatClaim(
                sit=sit,
                stand_id=sit.stand_id,
                person_id=sit.person_id,
                local_date=sit.local_date,
                kind=sit.span,
                seat_number=seats[session],
            )
        )
    SeatClaim.objects.bulk_create(claims)
    return sits


def _sit(season: _Season, plan: PastSit, name: str) -> Sit:
    day = season.calendar.day(plan.day)
    window = season.windows[SessionKey(day, plan.kind)]
    person = season.built.persons[name]
    missed = (plan.person, plan.day) == MISSED
    came_at = window.approach_from + timedelta(minutes=7)
    left_at = window.hunt_until + timedelta(minutes=18)
    sector = season.wind.of(plan.day, plan.kind)
    return Sit(
        property=season.land,
        stand=season.stands[plan.stand],
        person=person,
        host=None if name == plan.person else season.built.persons[plan.person],
        local_date=day,
        span=plan.kind,
        starts_at=window.approach_from,
        ends_at=window.exit_until,
        state=SitState.MISSED if missed else _state(plan),
        weapon="bow",
        observed_sector=None if sector < 0 or missed else sector,
        checked_in_at=None if missed else came_at,
        checked_out_at=None if missed else left_at,
        check_in_entered_at=None if missed else came_at,
        check_out_entered_at=None if missed else left_at,
        excused_at=left_at if missed else None,
    )


def _state(plan: PastSit) -> SitState:
    if plan.person == scenario.OWES_A_REPORT:
        return SitState.CHECKED_OUT
    return SitState.REPORTED


def _write_reports(
    season: _Season, sits: Sequence[Sit], rng: np.random.Generator
) -> tuple[int, int]:
    """Reports of the members' sits with deer seen and alarmed, and deer taken."""
    reported = [sit for sit in sits if sit.state == SitState.REPORTED]
    reports = [_report(season, sit, rng) for sit in reported]
    SitReport.objects.bulk_create(reports)
    sightings, alarms, harvests = [], [], []
    left = dict(season.ground.planned_harvest)
    for sit, report in zip(reported, reports, strict=True):
        if report.deer_alarmed:
            alarms.append(
                DeerAlarm(
                    report=report,
                    sense="winded" if rng.random() < 0.7 else "saw",
                    count=report.deer_alarmed,
                    distance_m=float(rng.integers(30, 140)),
                )
            )
        sightings += _sightings(report, rng)
        if report.shots and sit.host_id is None:
            harvests += _harvest(season, sit, left, rng)
    Sighting.objects.bulk_create(sightings)
    DeerAlarm.objects.bulk_create(alarms)
    Harvest.objects.bulk_create(harvests)
    return len(reports), len(harvests)


def _report(season: _Season, sit: Sit, rng: np.random.Generator) -> SitReport:
    felt_deg, speed_mps = _felt(season, sit)
    turned_deg = _TURNS_AT.get(sit.stand.name, 0.0) + float(rng.normal(0, 9))
    return SitReport(
        sit=sit,
        reported_at=_after(sit, rng),
        wind_felt_from_deg=round((felt_deg + turned_deg) % 360, 0),
        wind_felt_speed_mps=round(0.6 * speed_mps, 1),
        deer_alarmed=int(rng.integers(1, 4)) if rng.random() < 0.16 else 0,
        shots=int(rng.random() < 0.09),
        notes="Invented for the demo.",
    )


def _felt(season: _Season, sit: Sit) -> tuple[float, float]:
    """Mean direction (by unit vectors) and speed over the hills while the sit lasted."""
    first, last = (
        (instant - season.calendar.midnight) / timedelta(hours=1)
        for instant in (sit.starts_at, sit.ends_at)
    )
    during = season.air.taken((season.air.hour >= first - 1) & (season.air.hour <= last))
    vector = np.exp(1j * np.radians(during.wind_from_deg)).mean()
    return float(np.degrees(np.angle(vector))) % 360, float(during.speed_mps.mean())


def _after(sit: Sit, rng: np.random.Generator) -> datetime:
    return sit.ends_at + timedelta(minutes=int(rng.integers(20, 240)))


def _sightings(report: SitReport, rng: np.random.Generator) -> list[Sighting]:
    kinds = (
        ("doe", "adult", 1.4),
        ("doe", "fawn", 0.6),
        ("buck", "yearling", 0.5),
        ("buck", "adult", 0.3),
    )
    return [
        Sighting(
            report=report,
            sex=sex,
            age_class=age,
            count=count,
            distance_m=float(rng.integers(15, 160)),
        )
        for sex, age, mean in kinds
        if (count := int(rng.poisson(mean)))
    ]


def _harvest(
    season: _Season, sit: Sit, left: dict[str, int], rng: np.random.Generator
) -> list[Harvest]:
    wanted = "antlered" if rng.random() < 0.3 else "antlerless"
    if not left.get(wanted) or rng.random() < 0.2:
        return []
    left[wanted] -= 1
    weight_kg = round(float(rng.normal(66 if wanted == "antlered" else 47, 5)), 1)
    assert sit.checked_out_at is not None
    return [
        Harvest(
            property=season.land,
            sit=sit,
            person=sit.person,
            harvest_class=wanted,
            taken_at=sit.checked_out_at - timedelta(minutes=40),
            dressed_weight_kg=weight_kg,
            **deer_data(wanted, weight_kg),
        )
    ]
