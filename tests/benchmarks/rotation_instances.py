"""Planning problems made by a seeded generator, from 8 stands to thousands.

Common practice, no source, throughout: a regional wind that persists and turns with fronts;
a forecast whose spread is 18° and grows 2.6° a day; stands with 2 to 5 favourable sectors of
8; rest of 2 to 4 days; 2 uses under one wind in 10 days; a fit floor of 45 to 60 % for each
property; stands that exclude each other by line of fire, or on some winds by their access;
10 days of past uses; members free mostly at weekends; 4 % of the sits booked beforehand.
"""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import erf, sqrt

import numpy as np

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rotation.greedy import Filling
from scheduling.rotation.problem import (
    Exclusion,
    Outlook,
    PlanMember,
    PlanProperty,
    PlanStand,
    RotationProblem,
    Seat,
)
from scheduling.rules.uses import FULL_PER_MILLE, Use

FIRST_DAY = date(2025, 10, 31)
SECTORS = 8


@dataclass(frozen=True)
class Size:
    stands: int
    members: int
    stands_a_property: int = 8


SIZES = {
    "small": Size(8, 12, 4),
    "medium": Size(60, 80),
    "large": Size(500, 600),
    "hard": Size(500, 1200),
    "huge": Size(3000, 4000),
}


def instance(
    size: str, *, seed: int, days: int = 14, expected_winds: bool = True
) -> RotationProblem:
    """The problem of that size and seed, always the same.

    ``expected_winds`` counts planned uses by the forecast's chance of each sector, as the
    rule says; without it by the most likely sector alone.
    """
    random = np.random.default_rng([seed, SIZES[size].stands, SIZES[size].members])
    stands, places = _stands(random, SIZES[size])
    sessions = tuple(
        SessionKey(FIRST_DAY + timedelta(days=day), kind)
        for day in range(days)
        for kind in (SessionKind.MORNING, SessionKind.EVENING)
    )
    wind_from_deg = _regional_wind(random, 10 + days)
    winds = {
        session: _sector_chances(
            wind_from_deg[10 + number // 2] + random.normal(0, 12), 18 + 2.6 * (number // 2)
        )
        for number, session in enumerate(sessions)
    }
    outlooks = _outlooks(random, stands, sessions, winds, expected_winds)
    problem = RotationProblem(
        members=_members(random, SIZES[size], sessions),
        stands=stands,
        properties=tuple(
            PlanProperty(id=place, hunters_a_session=int(random.integers(3, 6)))
            for place in sorted({stand.property_id for stand in stands})
        ),
        sessions=sessions,
        outlooks=outlooks,
        exclusions=_exclusions(random, stands, places, sessions, winds),
        uses_outside=_past_uses(random, stands, wind_from_deg),
    )
    return _with_bookings(random, problem, share=0.04)


def with_new_forecast(
    problem: RotationProblem, *, published: tuple[Seat, ...], seed: int, spread: float = 0.08
) -> RotationProblem:
    """The same problem a forecast later: every fit moved by ``spread``, a plan published."""
    random = np.random.default_rng([seed, 8])
    moved = tuple(
        replace(
            outlook,
            fit_percent=int(
                np.clip(round(outlook.fit_percent * (1 + random.normal(0, spread))), 0, 100)
            ),
        )
        for outlook in problem.outlooks
    )
    return replace(problem, outlooks=moved, published=published)


def _stands(
    random: np.random.Generator, size: Size
) -> tuple[tuple[PlanStand, ...], dict[str, np.ndarray]]:
    stands, places = [], {}
    for number in range(size.stands):
        stand = PlanStand(
            id=f"S{number:04d}",
            property_id=f"P{number // size.stands_a_property:04d}",
            capacity=2 if random.random() < 0.2 else 1,
            rest_days=int(random.integers(2, 5)),
            quality_percent=int(random.integers(60, 101)),
        )
        stands.append(stand)
        places[stand.id] = random.uniform(0, 1200, 2)
    return tuple(stands), places


def _regional_wind(random: np.random.Generator, days: int) -> np.ndarray:
    """Direction the wind comes from on each day, degrees: it holds, then a front veers it."""
    direction, found = random.uniform(0, 360), []
    for _ in range(days):
        front = random.random() < 0.25
        direction += random.uniform(60, 150) if front else random.normal(0, 20)
        found.append(direction % 360)
    return np.array(found)


def _sector_chances(wind_from_deg: float, spread_deg: float) -> tuple[int, ...]:
    """Chance of each sector in whole per mille, by a wrapped normal; they sum to 1000."""
    width = 360 / SECTORS
    chances = np.zeros(SECTORS)
    for sector in range(SECTORS):
        for turn in (-360, 0, 360):
            centre = sector * width + turn - wind_from_deg % 360
            chances[sector] += _normal(centre + width / 2, spread_deg) - _normal(
                centre - width / 2, spread_deg
            )
    return _whole_per_mille(chances)


def _normal(value: float, spread: float) -> float:
    return 0.5 * (1 + erf(value / (spread * sqrt(2))))


def _whole_per_mille(chances: np.ndarray) -> tuple[int, ...]:
    scaled = chances / chances.sum() * FULL_PER_MILLE
    whole = np.floor(scaled).astype(int)
    whole[np.argsort(whole - scaled, kind="stable")[: FULL_PER_MILLE - whole.sum()]] += 1
    return tuple(int(value) for value in whole)


def _outlooks(
    random: np.random.Generator,
    stands: tuple[PlanStand, ...],
    sessions: tuple[SessionKey, ...],
    winds: dict[SessionKey, tuple[int, ...]],
    expected_winds: bool,
) -> tuple[Outlook, ...]:
    places = sorted({stand.property_id for stand in stands})
    floors = {place: random.uniform(45, 60) for place in places}
    found = []
    for stand in stands:
        favourable = (int(random.integers(SECTORS)) + np.arange(random.integers(2, 6))) % SECTORS
        by_sector = random.uniform(0.1, 0.4, SECTORS)
        by_sector[favourable] = random.uniform(0.8, 1.0, len(favourable))
        for session in sessions:
            chances = winds[session]
            fit = round(100 * float(np.dot(chances, by_sector)) / FULL_PER_MILLE)
            likely = int(np.argmax(chances))
            single = tuple(FULL_PER_MILLE * (sector == likely) for sector in range(SECTORS))
            spoiled = fit < floors[stand.property_id]
            found.append(
                Outlook(
                    stand_id=stand.id,
                    session=session,
                    fit_percent=fit,
                    sector_per_mille=chances if expected_winds else single,
                    closed_because="The wind does not suit this stand." if spoiled else "",
                )
            )
    return tuple(found)


def _exclusions(
    random: np.random.Generator,
    stands: tuple[PlanStand, ...],
    places: dict[str, np.ndarray],
    sessions: tuple[SessionKey, ...],
    winds: dict[SessionKey, tuple[int, ...]],
) -> tuple[Exclusion, ...]:
    found = []
    for number, one in enumerate(stands):
        for other in stands[number + 1 :]:
            if other.property_id != one.property_id:
                break
            apart_m = float(np.hypot(*(places[one.id] - places[other.id])))
            if apart_m < 200:
                found.append(Exclusion(stand_ids=(one.id, other.id)))
            elif apart_m < 450:
                bad = set(((int(random.integers(SECTORS)) + np.arange(2)) % SECTORS).tolist())
                when = tuple(s for s in sessions if int(np.argmax(winds[s])) in bad)
                found.append(Exclusion(stand_ids=(one.id, other.id), sessions=when))
    return tuple(found)


def _past_uses(
    random: np.random.Generator, stands: tuple[PlanStand, ...], wind_from_deg: np.ndarray
) -> tuple[Use, ...]:
    found = []
    for stand in stands:
        for day in range(10):
            if random.random() < 0.1:
                sector = round(wind_from_deg[day] / (360 / SECTORS)) % SECTORS
                kind = (SessionKind.MORNING, SessionKind.EVENING)[int(random.integers(2))]
                found.append(
                    Use(
                        stand_id=stand.id,
                        session=SessionKey(FIRST_DAY - timedelta(days=10 - day), kind),
                        sector_per_mille=tuple(
                            FULL_PER_MILLE * (number == sector) for number in range(SECTORS)
                        ),
                    )
                )
    return tuple(found)


def _members(
    random: np.random.Generator, size: Size, sessions: tuple[SessionKey, ...]
) -> tuple[PlanMember, ...]:
    last = (size.stands - 1) // size.stands_a_property
    found = []
    for number in range(size.members):
        home = int(random.integers(last + 1))
        near = {home, *(int(np.clip(home + step, 0, last)) for step in random.integers(-2, 3, 2))}
        free = tuple(
            session
            for session in sessions
            if random.random() < (0.7 if session.local_date.weekday() >= 5 else 0.2)
        )
        on_near = (
            range(size.stands)
            if size.stands < 20
            else [
                stand
                for place in near
                for stand in range(
                    place * size.stands_a_property,
                    min((place + 1) * size.stands_a_property, size.stands),
                )
            ]
        )
        found.append(
            PlanMember(
                id=f"M{number:04d}",
                sits_requested=int(random.choice([1, 2, 3, 4], p=[0.25, 0.3, 0.25, 0.2])),
                sits_per_day=1 if random.random() < 0.8 else 2,
                available=free,
                properties=tuple(f"P{place:04d}" for place in sorted(near)),
                preference_percent={
                    f"S{stand:04d}": int(random.integers(50, 101)) for stand in on_near
                },
            )
        )
    return tuple(found)


def _with_bookings(
    random: np.random.Generator, problem: RotationProblem, *, share: float
) -> RotationProblem:
    filling = Filling.of(problem)
    wanted = round(share * sum(member.sits_requested for member in problem.members))
    for number in random.permutation(len(filling.seats)):
        if len(filling.taken) >= wanted:
            break
        if filling.fits(int(number)):
            filling.take(int(number))
    return replace(problem, locked=filling.plan())
