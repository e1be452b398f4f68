"""Three planning problems small enough to solve by hand, with their only best plans."""

from dataclasses import dataclass
from datetime import date, timedelta

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rotation.problem import (
    Exclusion,
    Outlook,
    PlanMember,
    PlanProperty,
    PlanStand,
    RotationProblem,
    Seat,
)
from scheduling.rules.uses import Use

SECTORS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
DAY_ZERO = date(2025, 10, 31)
MORNING, EVENING = SessionKind.MORNING, SessionKind.EVENING


@dataclass(frozen=True, kw_only=True)
class KnownOptimum:
    """``levels``: sits, first wishes, worst served, quality, changes; greedy's likewise."""

    problem: RotationProblem
    best: frozenset[Seat]
    levels: tuple[float, ...]
    greedy_levels: tuple[float, ...]


def on(day: int, kind: SessionKind = EVENING) -> SessionKey:
    return SessionKey(DAY_ZERO + timedelta(days=day), kind)


def certain(sector: str) -> tuple[int, ...]:
    return tuple(1000 * (name == sector) for name in SECTORS)


def _outlooks(
    fits: dict[str, list[int]], winds: list[tuple[SessionKey, str]]
) -> tuple[Outlook, ...]:
    return tuple(
        Outlook(stand_id=stand, session=session, fit_percent=fit, sector_per_mille=certain(wind))
        for stand, row in fits.items()
        for fit, (session, wind) in zip(row, winds, strict=True)
    )


def rest_beats_best_fit() -> KnownOptimum:
    """The stand rests 2 days: its best evening, in the middle, would cost a sit."""
    d1, d2, d3 = on(1), on(2), on(3)
    return KnownOptimum(
        problem=RotationProblem(
            members=(
                PlanMember(id="A", sits_requested=1, available=(d1, d2), properties=("North",)),
                PlanMember(id="B", sits_requested=1, available=(d2, d3), properties=("North",)),
            ),
            stands=(PlanStand(id="S1", property_id="North", rest_days=2),),
            properties=(PlanProperty(id="North"),),
            sessions=(d1, d2, d3),
            outlooks=_outlooks({"S1": [70, 95, 65]}, [(d1, "N"), (d2, "N"), (d3, "N")]),
            fit_floor_percent=50,
            same_wind_cap=9,
        ),
        best=frozenset({Seat("A", "S1", d1), Seat("B", "S1", d3)}),
        levels=(2, 8, 65.0, 135, 0),
        greedy_levels=(1, 4, 0.0, 95, 0),
    )


def same_wind_with_history() -> KnownOptimum:
    """Two stands whose lines of fire cross, one with a north-west sit behind it."""
    d1, d2, d3, d4 = on(1), on(2), on(3), on(4)
    every = (d1, d2, d3, d4)
    return KnownOptimum(
        problem=RotationProblem(
            members=tuple(
                PlanMember(id=name, sits_requested=2, available=every, properties=("North",))
                for name in "AB"
            ),
            stands=tuple(PlanStand(id=name, property_id="North") for name in ("S1", "S2")),
            properties=(PlanProperty(id="North"),),
            sessions=every,
            outlooks=_outlooks(
                {"S1": [90, 85, 80, 40], "S2": [60, 70, 75, 55]},
                [(d1, "NW"), (d2, "NW"), (d3, "NW"), (d4, "S")],
            ),
            exclusions=(Exclusion(stand_ids=("S1", "S2")),),
            uses_outside=(Use(stand_id="S1", session=on(-2), sector_per_mille=certain("NW")),),
            published=(Seat("A", "S2", d2),),
            fit_floor_percent=50,
            same_wind_cap=2,
            stability_share=0.0,
        ),
        best=frozenset(
            {Seat("A", "S2", d2), Seat("A", "S2", d3), Seat("B", "S1", d1), Seat("B", "S2", d4)}
        ),
        levels=(4, 14, 72.5, 290, 3),
        greedy_levels=(4, 14, 62.5, 290, 5),
    )


def who_goes_short() -> KnownOptimum:
    """A stand for two, daily limits, and three sits for five wishes."""
    morning, evening = on(1, MORNING), on(1, EVENING)
    both = (morning, evening)
    return KnownOptimum(
        problem=RotationProblem(
            members=(
                PlanMember(id="A", sits_requested=2, available=both, properties=("North",)),
                PlanMember(
                    id="B",
                    sits_requested=2,
                    sits_per_day=2,
                    available=both,
                    properties=("North", "South"),
                ),
                PlanMember(
                    id="C",
                    sits_requested=1,
                    available=both,
                    properties=("North", "South"),
                    preference_percent={"Z1": 75},
                ),
            ),
            stands=(
                PlanStand(id="N1", property_id="North", capacity=2),
                PlanStand(id="Z1", property_id="South"),
            ),
            properties=(PlanProperty(id="North"), PlanProperty(id="South")),
            sessions=both,
            outlooks=_outlooks({"N1": [80, 60], "Z1": [70, 90]}, [(morning, "W"), (evening, "W")]),
            fit_floor_percent=50,
            same_wind_cap=9,
        ),
        best=frozenset(
            {Seat("A", "N1", morning), Seat("B", "Z1", evening), Seat("C", "N1", morning)}
        ),
        levels=(3, 12, 40.0, 250, 0),
        greedy_levels=(3, 11, 0.0, 250, 0),
    )


KNOWN_OPTIMA = {
    "rest_beats_best_fit": rest_beats_best_fit(),
    "same_wind_with_history": same_wind_with_history(),
    "who_goes_short": who_goes_short(),
}
