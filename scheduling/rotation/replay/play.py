"""One season handed out week by week in different ways, on the same wishes and forecasts."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from scheduling.rotation.greedy import Filling, take_best
from scheduling.rotation.model.solve import solve
from scheduling.rotation.problem import RotationProblem, Seat
from scheduling.rotation.result import RotationStatus
from scheduling.rules.uses import FULL_PER_MILLE, Use

from .season import SECTORS, Season, Week


class Way(StrEnum):
    """How sits are handed out.

    ``BOARD``: first come, first served, each taking the best place left by the forecast for
    all the sits they want; places, exclusions, the floor of fit and one sit a day hold, no
    rest and no same-wind rule. ``FIRST_COME``: the same under every house rule. ``ROTATION``:
    the plan. ``ROTATION_ANY_WIND``: the plan without the same-wind rule.
    """

    BOARD = "board"
    FIRST_COME = "first_come"
    ROTATION = "rotation"
    ROTATION_ANY_WIND = "rotation_any_wind"


NAMES = {
    Way.BOARD: "first come, no rest rules",
    Way.FIRST_COME: "first come, house rules",
    Way.ROTATION: "rotation",
    Way.ROTATION_ANY_WIND: "rotation, no same-wind rule",
}


@dataclass(frozen=True, kw_only=True)
class Sat:
    """A seat as it was sat: on the wind observed, with the fit of that wind."""

    seat: Seat
    sector: int
    fit_percent: int


@dataclass(frozen=True, kw_only=True)
class Played:
    """A season handed out in one way. ``plans`` were made, ``proven`` of them to the last aim."""

    way: Way
    sits: tuple[Sat, ...]
    plans: int
    proven: int


Plan = tuple[tuple[Seat, ...], bool]


def play(
    season: Season,
    way: Way,
    *,
    seed: int = 1,
    time_limit_s: float = 20.0,
    week_done: Callable[[], None] = lambda: None,
) -> Played:
    """Every week planned on what its forecast said, then sat on the wind that blew."""
    sits: list[Sat] = []
    proven = 0
    for week in season.weeks:
        problem = week_problem(season, week, sits, way)
        plan, is_proven = _planned(problem, week, way, seed, time_limit_s)
        sits += [_sat(season, seat) for seat in plan]
        proven += is_proven
        week_done()
    return Played(way=way, sits=tuple(sits), plans=len(season.weeks), proven=proven)


def week_problem(season: Season, week: Week, sits: Sequence[Sat], way: Way) -> RotationProblem:
    """The week's problem after the season's ``sits`` so far, under the rules of that way."""
    assumed = season.assumed
    stands = season.stands
    if way is Way.BOARD:
        stands = tuple(replace(stand, rest_days=0) for stand in stands)
    counts_wind = way in (Way.FIRST_COME, Way.ROTATION)
    received: dict[str, int] = {}
    for sat in sits:
        received[sat.seat.member_id] = received.get(sat.seat.member_id, 0) + sat.fit_percent
    return RotationProblem(
        members=tuple(
            replace(member, received_quality=received.get(member.id, 0)) for member in week.members
        ),
        stands=stands,
        properties=season.properties,
        sessions=week.sessions,
        outlooks=week.outlooks,
        exclusions=season.exclusions,
        uses_outside=_recent_uses(season, week, sits),
        fit_floor_percent=assumed.fit_floor_percent,
        same_wind_cap=assumed.same_wind_cap if counts_wind else None,
        same_wind_window_days=assumed.same_wind_window_days,
    )


def _recent_uses(season: Season, week: Week, sits: Iterable[Sat]) -> tuple[Use, ...]:
    assumed = season.assumed
    reach_days = max(assumed.same_wind_window_days, assumed.rest_days)
    first = week.sessions[0].local_date
    recent = {
        (sat.seat.stand_id, sat.seat.session): sat.sector
        for sat in sits
        if (first - sat.seat.session.local_date).days < reach_days
    }
    return tuple(
        Use(
            stand_id=stand_id,
            session=session,
            sector_per_mille=tuple(FULL_PER_MILLE * (sector == own) for own in range(SECTORS)),
        )
        for (stand_id, session), sector in recent.items()
    )


def _planned(
    problem: RotationProblem, week: Week, way: Way, seed: int, time_limit_s: float
) -> Plan:
    if way in (Way.BOARD, Way.FIRST_COME):
        return _first_come(problem, week.arrival), True
    result = solve(problem, time_limit_s=time_limit_s, seed=seed)
    return result.seats, result.status is RotationStatus.PROVEN


def _first_come(problem: RotationProblem, arrival: Sequence[str]) -> tuple[Seat, ...]:
    """Each in turn takes, one after another, the best places left for all the sits wanted."""
    filling = Filling.of(problem)
    numbers = {member.id: number for number, member in enumerate(problem.members)}
    for member_id in arrival:
        own = np.flatnonzero(filling.seats.member == numbers[member_id])
        for _ in range(problem.member_by_id[member_id].sits_requested):
            take_best(filling, own)
    return filling.plan()


def _sat(season: Season, seat: Seat) -> Sat:
    sector = season.observed[seat.session]
    row = [stand.id for stand in season.stands].index(seat.stand_id)
    return Sat(seat=seat, sector=sector, fit_percent=int(season.fit_by_sector[row, sector]))
