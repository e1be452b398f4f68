"""From records of scrapes to what the fit of the season is given, and what is shown beside it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from scrapes.visits.hangings import set_up_since_s
from scrapes.visits.rates import poisson_limits
from scrapes.visits.scrape_records import ScrapeRecord
from scrapes.visits.season_curve_fit import FittedSeason, SeasonCounts
from scrapes.visits.settings import DropSettings

Integers = NDArray[np.int64]
Floats = NDArray[np.float64]

DAYS_FROM_PEAK = np.arange(-183, 184)
_WEEK = 7


@dataclass(frozen=True, kw_only=True)
class SeasonWeek:
    """Visits of seven days from the peak of breeding, ``first_day`` being the earliest.

    ``use`` is visits over those expected if every day were the season's height, None where
    nothing was watched by a scrape that was ever visited; limits allow for the dispersion.
    """

    first_day: int
    visits: int
    camera_nights: float
    use: float | None
    low: float | None
    high: float | None


def season_counts(
    records: Iterable[ScrapeRecord], *, nights: int, drop: DropSettings
) -> SeasonCounts:
    """Rows of each scrape by breeding season and camera set-up, over the first ``nights``."""
    keys: dict[tuple[UUID, int, int], int] = {}
    groups: dict[tuple[UUID, int], int] = {}
    scrapes: dict[UUID, int] = {}
    visits, camera_nights, group_of, scrape_of = [], [], [], []
    for record in records:
        seasons = _seasons(record)
        set_ups = _set_ups(record, drop)
        scrape = scrapes.setdefault(record.scrape_id, len(scrapes))
        for season, set_up in sorted(set(zip(seasons[:nights], set_ups[:nights], strict=True))):
            mine = (seasons == season) & (set_ups == set_up)
            mine[nights:] = False
            keys[record.scrape_id, season, set_up] = len(keys)
            group = (record.scrape.property_id, season)
            group_of.append(groups.setdefault(group, len(groups)))
            scrape_of.append(scrape)
            visits.append(_by_day(record, record.nightly.visits, mine))
            camera_nights.append(_by_day(record, record.nightly.camera_nights, mine))
    shape = (len(keys), len(DAYS_FROM_PEAK))
    return SeasonCounts(
        days=DAYS_FROM_PEAK,
        visits=np.array(visits, dtype=np.float64).reshape(shape).astype(np.int64),
        camera_nights=np.array(camera_nights, dtype=np.float64).reshape(shape),
        groups=np.array(group_of, dtype=np.int64),
        scrapes=np.array(scrape_of, dtype=np.int64),
    )


def _by_day(record: ScrapeRecord, nightly: Integers | Floats, mine: "NDArray[np.bool_]") -> Floats:
    column = record.days.from_peak[mine].astype(np.int64) - DAYS_FROM_PEAK[0]
    summed = np.bincount(column, weights=nightly[mine], minlength=len(DAYS_FROM_PEAK))
    return summed.astype(np.float64)


def _seasons(record: ScrapeRecord) -> Integers:
    """The year of each day's nearest peak of breeding, shape (days,)."""
    days = np.datetime64(record.days.first_on) + np.arange(len(record.days))
    peaks = days - record.days.from_peak.astype(np.int64)
    return np.asarray(peaks.astype("datetime64[Y]").astype(np.int64) + 1970)


def _set_ups(record: ScrapeRecord, drop: DropSettings) -> Integers:
    """A number for the camera set-up of each day: a camera moved or turned begins another."""
    edges = record.days.edge_s
    number = np.zeros(len(record.days), dtype=np.int64)
    changes = {record.days.index_at(hanging.start_s) for hanging in record.hangings}
    for first in sorted(changes):
        since = set_up_since_s(record.hangings, until_s=int(edges[first + 1]), settings=drop)
        number[first:] = 0 if since is None else since
    return number


def season_weeks(found: FittedSeason) -> Sequence[SeasonWeek]:
    """What was counted week by week from the peak, on the scale of the curve."""
    counts = found.counts
    begins = np.arange(0, len(counts.days), _WEEK)
    visits = np.add.reduceat(counts.visits.sum(axis=0), begins)
    nights = np.add.reduceat(counts.camera_nights.sum(axis=0), begins)
    at_height = np.add.reduceat(found.rates @ counts.camera_nights, begins)
    low, high = poisson_limits(visits / found.dispersion, confidence=found.confidence)
    return [
        SeasonWeek(
            first_day=int(counts.days[begin]),
            visits=int(visits[week]),
            camera_nights=float(nights[week]),
            use=float(visits[week] / at_height[week]) if at_height[week] > 0 else None,
            low=float(low[week] * found.dispersion / at_height[week])
            if at_height[week] > 0
            else None,
            high=float(high[week] * found.dispersion / at_height[week])
            if at_height[week] > 0
            else None,
        )
        for week, begin in enumerate(begins)
        if nights[week] > 0
    ]
