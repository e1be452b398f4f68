"""How good a stand has been of late: its own sightings, shrunk towards the property's."""

from collections.abc import Mapping
from dataclasses import dataclass

LOWEST_PERCENT, HIGHEST_PERCENT = 50, 150


@dataclass(frozen=True, kw_only=True)
class Seen:
    """Reported sits at one stand and the deer seen in them."""

    sits: int
    deer: int


def quality_percent(seen: Mapping[str, Seen], *, prior_sits: float) -> dict[str, int]:
    """Each stand's quality in percent of the ordinary stand among ``seen``.

    Deer a sit, shrunk: a stand counts ``prior_sits`` sits with the mean of all on top of its
    own, so that one lucky evening moves it little. Kept between 50 and 150 %. Where nothing
    was seen anywhere every stand is ordinary.
    """
    sits = sum(one.sits for one in seen.values())
    deer = sum(one.deer for one in seen.values())
    if not sits or not deer:
        return dict.fromkeys(seen, 100)
    mean = deer / sits
    return {
        stand_id: _bounded(100 * (one.deer + prior_sits * mean) / (one.sits + prior_sits) / mean)
        for stand_id, one in seen.items()
    }


def _bounded(percent: float) -> int:
    return round(min(max(percent, LOWEST_PERCENT), HIGHEST_PERCENT))
