"""What a season handed out in one way amounts to, and how that varies over seasons."""

from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.sits.fairness import gini

from .play import Played, Sat
from .pressure import ASSUMPTIONS, deer_met
from .season import Season


@dataclass(frozen=True, kw_only=True)
class Figures:
    """One season in one way.

    ``on_used_wind``: share of sits in a stand that had been used on that very wind sector
    within the days of the same-wind window; ``beyond_cap``: as often as its cap or more.
    ``average_fit`` is that of the wind that blew,
    0 to 1. ``gini`` and ``worst_quality`` are over members' fit summed for each sit they
    asked for; ``worst_sits`` is the lowest share of a member's wished sits that was served.
    ``deer`` met in the whole season by the name of the assumption.
    """

    asked: int
    served: int
    on_used_wind: float
    beyond_cap: float
    average_fit: float
    gini: float
    worst_quality: float
    worst_sits: float
    deer: dict[str, float]

    def deer_a_sit(self, assumption: str) -> float:
        return self.deer[assumption] / self.served if self.served else 0.0


@dataclass(frozen=True, kw_only=True)
class Spread:
    """A figure over several seasons."""

    mean: float
    lowest: float
    highest: float


def figures(season: Season, played: Played) -> Figures:
    asked = {member: sits for member, sits in season.sits_asked.items() if sits}
    served = dict.fromkeys(asked, 0)
    quality = dict.fromkeys(asked, 0.0)
    for sat in played.sits:
        served[sat.seat.member_id] += 1
        quality[sat.seat.member_id] += sat.fit_percent / 100
    for_each_asked = [quality[member] / asked[member] for member in asked]
    total = len(played.sits)
    assumed = season.assumed
    earlier = _earlier_on_that_wind(played.sits, assumed.same_wind_window_days)
    return Figures(
        asked=sum(asked.values()),
        served=total,
        on_used_wind=sum(times > 0 for times in earlier) / max(1, total),
        beyond_cap=sum(times >= assumed.same_wind_cap for times in earlier) / max(1, total),
        average_fit=sum(sat.fit_percent for sat in played.sits) / 100 / max(1, total),
        gini=gini(for_each_asked) or 0.0,
        worst_quality=min(for_each_asked, default=0.0),
        worst_sits=min((served[member] / asked[member] for member in asked), default=0.0),
        deer={
            pressure.name: sum(deer_met(season, played.sits, pressure)) for pressure in ASSUMPTIONS
        },
    )


def _earlier_on_that_wind(sits: Sequence[Sat], window_days: int) -> list[int]:
    """For each sit, the earlier ones in its stand on its wind within the window that it ends."""
    return [
        sum(
            other.seat.stand_id == sat.seat.stand_id
            and other.sector == sat.sector
            and other.seat.session.order < sat.seat.session.order
            and (sat.seat.session.local_date - other.seat.session.local_date).days < window_days
            for other in sits
        )
        for sat in sits
    ]


def spread(values: Sequence[float]) -> Spread:
    """Mean, lowest and highest of at least one value."""
    return Spread(mean=sum(values) / len(values), lowest=min(values), highest=max(values))
