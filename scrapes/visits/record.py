"""A scrape's record night by night, and the window the drop test is asked about."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scrapes.visits.drop_model import base_rate, dispersion_of
from scrapes.visits.effort import Spans, camera_nights_within, covered
from scrapes.visits.rates import GammaRate
from scrapes.visits.season_curve import use_nights
from scrapes.visits.settings import DropSettings, SeasonSettings

Integers = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class NightlyRecord:
    """Arrays of shape (nights,): visits, camera-nights, and these weighted by the season."""

    visits: Integers
    camera_nights: Floats
    use_nights: Floats


@dataclass(frozen=True, kw_only=True)
class RecentWindow:
    """The last nights of a record, and what was known of the scrape before them.

    ``first_night`` indexes the record.
    """

    first_night: int
    visits: int
    camera_nights: float
    use_nights: float
    base: GammaRate
    dispersion: float


def nightly_record(
    *,
    visit_start_s: Integers,
    watched: Spans,
    edge_s: Integers,
    days_from_peak: Floats,
    season: SeasonSettings,
) -> NightlyRecord:
    """Count visits and effort of each night ``[edge_s[n], edge_s[n + 1])``.

    ``edge_s``, shape (nights + 1,), rising UTC seconds: nights of 23 or 25 hours are as long as
    they are. ``days_from_peak`` has shape (nights,). A visit outside the watched time (say in an
    outage that was entered later) counts for nothing, since its time is not in the effort either.
    Raises ValueError for edges that do not rise or shapes that do not fit.
    """
    if len(edge_s) != len(days_from_peak) + 1 or bool((np.diff(edge_s) <= 0).any()):
        raise ValueError("nights need rising edges, one more than there are nights")
    counted = visit_start_s[covered(visit_start_s, watched)]
    night = np.searchsorted(edge_s, counted, side="right") - 1
    inside = (night >= 0) & (night < len(days_from_peak))
    nights = camera_nights_within(watched, start_s=edge_s[:-1], end_s=edge_s[1:])
    return NightlyRecord(
        visits=np.bincount(night[inside], minlength=len(days_from_peak)).astype(np.int64),
        camera_nights=nights,
        use_nights=use_nights(nights, days_from_peak, settings=season),
    )


def recent_window(
    record: NightlyRecord, *, prior: GammaRate, settings: DropSettings
) -> RecentWindow:
    """The shortest run of last nights that holds the window's camera-nights.

    Nights without a working camera lengthen it, up to twice the window's nights: what lies further
    back is no news. All that came before it is the scrape's own record.
    """
    nights = len(record.visits)
    held = np.cumsum(record.camera_nights[::-1])
    enough = int(np.searchsorted(held, settings.window_nights - 1e-9)) + 1
    first = max(0, nights - min(enough, 2 * settings.window_nights))
    before, window = slice(0, first), slice(first, nights)
    dispersion = dispersion_of(
        record.visits[before], record.use_nights[before], assumed=settings.dispersion
    )
    return RecentWindow(
        first_night=first,
        visits=int(record.visits[window].sum()),
        camera_nights=float(record.camera_nights[window].sum()),
        use_nights=float(record.use_nights[window].sum()),
        base=base_rate(
            prior,
            visits=int(record.visits[before].sum()),
            use_nights=float(record.use_nights[before].sum()),
            dispersion=dispersion,
        ),
        dispersion=dispersion,
    )
