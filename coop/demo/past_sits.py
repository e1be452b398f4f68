"""Which sits the past season had, chosen so that the house rules would have let them be.

Pure: stands, people and the wind of each past session in, sits out. Days are counted from today.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from coop.demo.layout import GroundPlan
from properties.sessions.kinds import SessionKind

REST_DAYS = 3
SAME_WIND_CAP = 2
SAME_WIND_DAYS = 10
SITS_A_WEEK = 4
QUIET_DAYS = 4
"""After the last sits of the demo's own, so that stands are rested when the plan begins."""


@dataclass(frozen=True, kw_only=True)
class PastSit:
    """One member (and perhaps a guest beside them) in one stand, ``day`` days from today."""

    ground: str
    stand: str
    person: str
    day: int
    kind: SessionKind
    guest: str = ""


@dataclass(frozen=True, kw_only=True)
class SessionWind:
    """The sector of each past session on a property, by day and kind; -1 where not known."""

    sectors: Mapping[tuple[int, SessionKind], int]

    def of(self, day: int, kind: SessionKind) -> int:
        return self.sectors.get((day, kind), -1)


def past_sits(
    ground: GroundPlan,
    *,
    members: Sequence[str],
    guests: Mapping[str, str],
    wind: SessionWind,
    fixed: Sequence[PastSit],
    first_day: int,
    busy: set[tuple[str, int]],
    rng: np.random.Generator,
) -> list[PastSit]:
    """The season's sits on one property, the ``fixed`` ones among them, in order of time.

    ``guests`` maps a host to a guest. ``busy`` holds (person, day) of sits elsewhere and grows.
    Nobody sits twice a day; a stand rests, and is not sat too often under one sector.
    """
    taken = list(fixed)
    busy.update((sit.person, sit.day) for sit in fixed)
    for day in range(first_day, 0):
        for _ in range(_wanted(day, rng)):
            kind = SessionKind.EVENING if rng.random() < 0.6 else SessionKind.MORNING
            stands = [
                plan
                for plan in ground.stands
                if _is_free(plan.name, day, kind, taken, wind)
                and (plan.failed_days_ago is None or day < -plan.failed_days_ago)
            ]
            people = [
                name for name in members if (name, day) not in busy and _week(name, day, taken)
            ]
            if not stands or not people:
                continue
            stand = stands[int(rng.integers(len(stands)))]
            person = people[int(rng.integers(len(people)))]
            guest = guests.get(person, "") if stand.capacity > 1 and rng.random() < 0.5 else ""
            busy.add((person, day))
            taken.append(
                PastSit(
                    ground=ground.key,
                    stand=stand.name,
                    person=person,
                    day=day,
                    kind=kind,
                    guest=guest,
                )
            )
    return sorted(taken, key=lambda sit: (sit.day, sit.kind == SessionKind.EVENING, sit.stand))


def _wanted(day: int, rng: np.random.Generator) -> int:
    """Sits wished for on a day: more at week's ends, more as the peak draws near, then few."""
    week_end = day % 7 in (0, 6)
    eagerness = (1.9 if week_end else 0.9) * (1.3 if day > -25 else 1.0)
    return int(rng.poisson(eagerness * (0.5 if day > -QUIET_DAYS else 1.0)))


def _is_free(
    stand: str, day: int, kind: SessionKind, taken: Sequence[PastSit], wind: SessionWind
) -> bool:
    uses = [sit for sit in taken if sit.stand == stand]
    if any(abs(sit.day - day) < REST_DAYS for sit in uses):
        return False
    sector = wind.of(day, kind)
    near = [sit for sit in uses if abs(sit.day - day) < SAME_WIND_DAYS]
    return sum(wind.of(sit.day, sit.kind) == sector for sit in near) < SAME_WIND_CAP


def _week(name: str, day: int, taken: Sequence[PastSit]) -> bool:
    """Whether the member has a sit left in any seven days around the day."""
    return sum(sit.person == name and abs(sit.day - day) < 7 for sit in taken) < SITS_A_WEEK
