"""What deer might have learned of the sits: several assumptions, none of them measured here.

A sit meets deer in proportion to how many pass the stand, to the chance that none of them
smells the hunter, and to what earlier use has left of their trust. Common practice, no source,
throughout; the point is to see which conclusions survive a change of assumption.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import exp

from .play import Sat
from .season import SECTORS, Season


class Learns(StrEnum):
    """What a past sit teaches the deer at that stand.

    ``NOTHING``: deer do not learn. ``OF_USE``: every sit counts alike, on any wind, so that a
    rule about winds cannot help by itself. ``BY_WIND``: a sit counts fully on the same sector,
    half on the two beside it, not at all on others. ``WHEN_WINDED``: a sit counts by the
    chance that somebody was smelled, on any wind.
    """

    NOTHING = "nothing"
    OF_USE = "of_use"
    BY_WIND = "by_wind"
    WHEN_WINDED = "when_winded"


@dataclass(frozen=True, kw_only=True)
class Pressure:
    """``strength``: one fresh sit that counts fully leaves exp(−strength) of the deer.

    ``half_life_days``: after so many days half of it is forgotten.
    """

    name: str
    learns: Learns
    strength: float = 0.0
    half_life_days: float = 10.0

    def __post_init__(self) -> None:
        if self.strength < 0 or self.half_life_days <= 0:
            raise ValueError("deer learn no less than nothing, and forget in some time")


_WEAK = {"strength": 0.15, "half_life_days": 7.0}
_STRONG = {"strength": 0.5, "half_life_days": 21.0}

ASSUMPTIONS = (
    Pressure(name="do not learn", learns=Learns.NOTHING),
    Pressure(name="learn of any use, a little", learns=Learns.OF_USE, **_WEAK),
    Pressure(name="learn of any use, much", learns=Learns.OF_USE, **_STRONG),
    Pressure(name="learn when they smell us, a little", learns=Learns.WHEN_WINDED, **_WEAK),
    Pressure(name="learn when they smell us, much", learns=Learns.WHEN_WINDED, **_STRONG),
    Pressure(name="learn by wind, a little", learns=Learns.BY_WIND, **_WEAK),
    Pressure(name="learn by wind, much", learns=Learns.BY_WIND, **_STRONG),
)


def deer_met(season: Season, sits: Iterable[Sat], pressure: Pressure) -> tuple[float, ...]:
    """Deer met in each sit, in order of time; 1 is an ordinary stand at full fit, unlearned."""
    presence = {
        stand.id: float(share) for stand, share in zip(season.stands, season.presence, strict=True)
    }
    before: dict[str, list[Sat]] = {}
    met = []
    for sat in sorted(sits, key=lambda sat: sat.seat.sort_key):
        stand_id = sat.seat.stand_id
        earlier = before.setdefault(stand_id, [])
        trust = exp(-pressure.strength * _remembered(sat, earlier, pressure))
        met.append(presence[stand_id] * sat.fit_percent / 100 * trust)
        earlier.append(sat)
    return tuple(met)


def _remembered(sat: Sat, earlier: Sequence[Sat], pressure: Pressure) -> float:
    return sum(
        _counts(sat, past, pressure.learns)
        * 0.5 ** (_days_between(past, sat) / pressure.half_life_days)
        for past in earlier
        if past.seat.session != sat.seat.session
    )


def _days_between(past: Sat, sat: Sat) -> float:
    return (sat.seat.session.order - past.seat.session.order) / 2


def _counts(sat: Sat, past: Sat, learns: Learns) -> float:
    if learns is Learns.OF_USE:
        return 1.0
    if learns is Learns.WHEN_WINDED:
        return 1 - past.fit_percent / 100
    if learns is Learns.BY_WIND:
        apart = abs(sat.sector - past.sector)
        return max(0.0, 1 - min(apart, SECTORS - apart) / 2)
    return 0.0
