"""An invented season: stands, members, wishes and wind, the same for every way of planning.

Every figure is common practice, no source. Nothing here knows who gets which sit.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from math import erf, sqrt

import numpy as np
from numpy.typing import NDArray

from properties.sessions.kinds import SessionKey, SessionKind
from properties.wind.sectors import SECTOR_NAMES, sector_of
from scheduling.rotation.problem import Exclusion, Outlook, PlanMember, PlanProperty, PlanStand
from scheduling.rules.uses import FULL_PER_MILLE

FIRST_DAY = date(2025, 10, 6)
DAYS_A_WEEK = 7
SECTORS = len(SECTOR_NAMES)

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Assumed:
    """What a season is made of: its size, the house's rules, its wind and its people.

    ``rest_days``, ``same_wind_cap``, ``same_wind_window_days`` and ``fit_floor_percent`` are
    the house rules. A front turns the wind by 60 to 150° with ``chance_of_front`` a day. The
    forecast of a session ``lead`` days ahead is wrong by ``spread_deg`` + ``spread_a_day_deg``
    × lead (a standard deviation), and says so. ``shared_taste`` is the share of a member's
    liking of a stand that everybody has in common, 0 to 1.
    """

    weeks: int = 10
    stands: int = 12
    stands_a_property: int = 6
    members: int = 18
    most_sits_a_week: int = 3
    rest_days: int = 2
    same_wind_cap: int = 2
    same_wind_window_days: int = 10
    fit_floor_percent: int = 50
    chance_of_front: float = 0.25
    spread_deg: float = 18.0
    spread_a_day_deg: float = 2.6
    free_on_weekend: float = 0.7
    free_on_weekday: float = 0.2
    shared_taste: float = 0.5

    def __post_init__(self) -> None:
        if min(self.weeks, self.stands, self.stands_a_property, self.members) < 1:
            raise ValueError("a season needs a week, a stand and a member at least")


@dataclass(frozen=True, kw_only=True)
class Week:
    """A week as known when it is planned: sessions, forecasts, wishes, and who comes first.

    ``members`` have this week's wishes; ``arrival`` are their ids in the order in which they
    would reach a board.
    """

    sessions: tuple[SessionKey, ...]
    outlooks: tuple[Outlook, ...]
    members: tuple[PlanMember, ...]
    arrival: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Season:
    """``fit_by_sector`` in percent, shape (stands, sectors); ``observed`` wind sectors.

    ``presence`` of shape (stands,): how many deer pass each stand, the ordinary one 1.
    """

    assumed: Assumed
    stands: tuple[PlanStand, ...]
    properties: tuple[PlanProperty, ...]
    exclusions: tuple[Exclusion, ...]
    fit_by_sector: NDArray[np.int64]
    presence: FloatArray
    observed: dict[SessionKey, int]
    weeks: tuple[Week, ...]

    @property
    def sits_asked(self) -> dict[str, int]:
        """Sits that each member asked for over the season."""
        asked: dict[str, int] = {}
        for week in self.weeks:
            for member in week.members:
                asked[member.id] = asked.get(member.id, 0) + member.sits_requested
        return asked


def make_season(assumed: Assumed, *, seed: int) -> Season:
    """The season of that seed, always the same."""
    random = np.random.default_rng([seed, assumed.stands, assumed.members])
    quality = random.integers(60, 141, assumed.stands)
    stands = tuple(
        PlanStand(
            id=f"S{number:03d}",
            property_id=f"P{number // assumed.stands_a_property:02d}",
            rest_days=assumed.rest_days,
            quality_percent=int(quality[number]),
        )
        for number in range(assumed.stands)
    )
    wind_from_deg = _regional_wind(random, assumed)
    fits = _fit_by_sector(random, assumed.stands)
    liking = _liking(random, assumed)
    return Season(
        assumed=assumed,
        stands=stands,
        properties=tuple(
            PlanProperty(id=place) for place in sorted({stand.property_id for stand in stands})
        ),
        exclusions=_exclusions(random, stands),
        fit_by_sector=fits,
        presence=quality / 100,
        observed={
            session: int(sector_of(direction))
            for session, direction in zip(
                _sessions(0, assumed.weeks * DAYS_A_WEEK), wind_from_deg, strict=True
            )
        },
        weeks=tuple(
            _week(random, assumed, number, stands, wind_from_deg, fits, liking)
            for number in range(assumed.weeks)
        ),
    )


def _sessions(first: int, days: int) -> tuple[SessionKey, ...]:
    return tuple(
        SessionKey(FIRST_DAY + timedelta(days=first + day), kind)
        for day in range(days)
        for kind in (SessionKind.MORNING, SessionKind.EVENING)
    )


def _regional_wind(random: np.random.Generator, assumed: Assumed) -> FloatArray:
    """The direction the wind comes from in each session, degrees: it holds, then veers."""
    direction, found = random.uniform(0, 360), []
    for _ in range(assumed.weeks * DAYS_A_WEEK):
        front = random.random() < assumed.chance_of_front
        direction += random.uniform(60, 150) if front else random.normal(0, 20)
        found += [direction % 360, (direction + random.normal(0, 12)) % 360]
    return np.array(found)


def _fit_by_sector(random: np.random.Generator, stands: int) -> NDArray[np.int64]:
    """Good on 2 to 5 neighbouring sectors, poor on the others."""
    fits = np.zeros((stands, SECTORS), dtype=np.int64)
    for stand in range(stands):
        good = (int(random.integers(SECTORS)) + np.arange(random.integers(2, 6))) % SECTORS
        fits[stand] = random.integers(10, 41, SECTORS)
        fits[stand, good] = random.integers(80, 101, len(good))
    return fits


def _exclusions(
    random: np.random.Generator, stands: tuple[PlanStand, ...]
) -> tuple[Exclusion, ...]:
    """One pair in eight on the same property is never used together."""
    return tuple(
        Exclusion(stand_ids=(one.id, other.id))
        for number, one in enumerate(stands)
        for other in stands[number + 1 :]
        if one.property_id == other.property_id and random.random() < 1 / 8
    )


def _liking(random: np.random.Generator, assumed: Assumed) -> NDArray[np.int64]:
    """Percent by member and stand, 50 to 100, partly a taste that all share."""
    shape = (assumed.members, assumed.stands)
    shared = random.uniform(50, 100, assumed.stands)
    own = random.uniform(50, 100, shape)
    mixed = assumed.shared_taste * shared + (1 - assumed.shared_taste) * own
    return np.rint(mixed).astype(np.int64)


def _week(
    random: np.random.Generator,
    assumed: Assumed,
    number: int,
    stands: tuple[PlanStand, ...],
    wind_from_deg: FloatArray,
    fits: NDArray[np.int64],
    liking: NDArray[np.int64],
) -> Week:
    sessions = _sessions(number * DAYS_A_WEEK, DAYS_A_WEEK)
    members = tuple(
        _member(random, assumed, f"M{place:03d}", sessions, stands, liking[place])
        for place in range(assumed.members)
    )
    first = 2 * number * DAYS_A_WEEK
    outlooks: list[Outlook] = []
    for place, session in enumerate(sessions):
        spread = assumed.spread_deg + assumed.spread_a_day_deg * (place // 2)
        forecast_deg = wind_from_deg[first + place] + random.normal(0, spread)
        chances = sector_chances(forecast_deg, spread)
        outlooks += [
            Outlook(
                stand_id=stand.id,
                session=session,
                fit_percent=round(float(np.dot(chances, fits[row])) / FULL_PER_MILLE),
                sector_per_mille=chances,
            )
            for row, stand in enumerate(stands)
        ]
    order = random.permutation(assumed.members)
    return Week(
        sessions=sessions,
        outlooks=tuple(outlooks),
        members=members,
        arrival=tuple(members[place].id for place in order),
    )


def _member(
    random: np.random.Generator,
    assumed: Assumed,
    name: str,
    sessions: tuple[SessionKey, ...],
    stands: tuple[PlanStand, ...],
    liking: NDArray[np.int64],
) -> PlanMember:
    free = tuple(
        session
        for session in sessions
        if random.random()
        < (
            assumed.free_on_weekend
            if session.local_date.weekday() >= 5
            else assumed.free_on_weekday
        )
    )
    return PlanMember(
        id=name,
        sits_requested=min(int(random.integers(assumed.most_sits_a_week + 1)), len(free)),
        available=free,
        properties=tuple(sorted({stand.property_id for stand in stands})),
        preference_percent={
            stand.id: int(percent) for stand, percent in zip(stands, liking, strict=True)
        },
        entitlement=1,
    )


def sector_chances(wind_from_deg: float, spread_deg: float) -> tuple[int, ...]:
    """Chance of each sector in whole per mille by a wrapped normal; they sum to 1000."""
    width = 360 / SECTORS
    chances = np.zeros(SECTORS)
    for sector in range(SECTORS):
        for turn in (-360, 0, 360):
            centre = sector * width + turn - wind_from_deg % 360
            chances[sector] += _normal(centre + width / 2, spread_deg)
            chances[sector] -= _normal(centre - width / 2, spread_deg)
    scaled = chances / chances.sum() * FULL_PER_MILLE
    whole = np.floor(scaled).astype(np.int64)
    whole[np.argsort(whole - scaled, kind="stable")[: FULL_PER_MILLE - whole.sum()]] += 1
    return tuple(int(value) for value in whole)


def _normal(value: float, spread: float) -> float:
    return 0.5 * (1 + erf(value / (spread * sqrt(2))))
