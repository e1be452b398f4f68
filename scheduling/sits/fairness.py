"""How evenly sits were shared: pure figures, no clock, no store."""

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum


class Prime(StrEnum):
    """Why a day is wanted by everybody; a day counts for the first that holds."""

    OPENER = "opener"
    RUT = "rut"
    WEEKEND = "weekend"


def prime_class(
    day: date,
    *,
    season_openings: Collection[date],
    opening_days: int,
    rut_from: str,
    rut_until: str,
    weekdays: Collection[int],
) -> Prime | None:
    """The class of a prime day, or None; the rut is from MM-DD to MM-DD, over New Year too."""
    if any(opens <= day < opens + timedelta(days=opening_days) for opens in season_openings):
        return Prime.OPENER
    month_day = f"{day:%m-%d}"
    if rut_from <= rut_until:
        is_rut = rut_from <= month_day <= rut_until
    else:
        is_rut = month_day >= rut_from or month_day <= rut_until
    if is_rut:
        return Prime.RUT
    return Prime.WEEKEND if day.isoweekday() in weekdays else None


def gini(values: Sequence[float]) -> float | None:
    """Gini coefficient of amounts that are not negative: 0 all alike, near 1 one has all.

    G = sum((2i - n - 1) x_i) / (n^2 mean) over the values in rising order, i from 1
    (MathWorld, "Gini Coefficient"). None where nobody got anything, or for nobody.
    """
    total = sum(values)
    if not values or total <= 0:
        return None
    count = len(values)
    weighted = sum(
        (2 * place - count - 1) * value for place, value in enumerate(sorted(values), start=1)
    )
    return weighted / (count * total)


@dataclass(frozen=True, kw_only=True)
class Share:
    """What one member asked for and got in a time; ``fits`` of their sits as far as known.

    ``weight`` is the member's entitlement; ``fits`` are shares 0..1 as known when booked.
    """

    person_id: str
    name: str
    weight: int = 1
    asked: int = 0
    got: int = 0
    prime: Mapping[Prime, int] = field(default_factory=Counter)
    fits: tuple[float, ...] = ()

    @property
    def average_fit(self) -> float | None:
        return sum(self.fits) / len(self.fits) if self.fits else None

    @property
    def quality_got(self) -> float:
        """Sum of the fits of the member's sits for each share of entitlement."""
        return sum(self.fits) / self.weight

    @property
    def sits_got(self) -> float:
        return self.got / self.weight


def from_worst_served(shares: Sequence[Share]) -> list[Share]:
    """Those who asked, or got, the worst served first: quality, then sits, by entitlement."""
    took_part = [share for share in shares if share.asked or share.got]
    return sorted(
        took_part,
        key=lambda share: (share.quality_got, share.sits_got, share.name, share.person_id),
    )
