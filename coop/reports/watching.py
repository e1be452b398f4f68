"""When a scrape was watched, night by night, weighted by the season."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from coop.reports.periods import Period
from coop.reports.rows import LandRow, ScrapeRow
from coop.reports.settings import ReportSettings
from properties.sessions.local_time import local_day
from scrapes.visits.effort import Spans, camera_nights_within, seconds_within, working_time
from scrapes.visits.season_curve import days_from_peak, use_nights
from scrapes.visits.settings import SeasonSettings

Integers = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Nights:
    """Half-open windows in order, shape (windows,): camera-nights and their seasonal use."""

    start_s: Integers
    end_s: Integers
    camera_nights: Floats
    use: Floats

    def visits(self, instants_s: Integers) -> Integers:
        """How many instants lie in each window."""
        ordered = np.sort(instants_s)
        return np.asarray(
            np.searchsorted(ordered, self.end_s) - np.searchsorted(ordered, self.start_s)
        )


@dataclass(frozen=True, kw_only=True)
class Watch:
    """A scrape's working time, and the local days by whose season it is weighed."""

    spans: Spans
    day_starts_s: Integers
    days_from_peak: Floats
    season: SeasonSettings

    def watched(self, instants_s: Integers) -> Integers:
        """Those of the instants at which a camera worked."""
        inside = seconds_within(self.spans, start_s=instants_s, end_s=instants_s + 1) > 0
        return instants_s[inside]

    def nights_before(self, end_s: int) -> Nights:
        return self.nights_between(int(self.day_starts_s[0]), end_s)

    def nights_between(self, start_s: int, end_s: int) -> Nights:
        """``[start_s, end_s)`` cut at every local midnight."""
        inside = (self.day_starts_s > start_s) & (self.day_starts_s < end_s)
        edges = np.concatenate([[start_s], self.day_starts_s[inside], [end_s]]).astype(np.int64)
        first, last = edges[:-1], edges[1:]
        day = np.searchsorted(self.day_starts_s, first, side="right") - 1
        nights = camera_nights_within(self.spans, start_s=first, end_s=last)
        use = use_nights(nights, self.days_from_peak[day], settings=self.season)
        return Nights(start_s=first, end_s=last, camera_nights=nights, use=use)


def watch_of(
    row: ScrapeRow,
    *,
    land: LandRow,
    period: Period,
    now: datetime,
    report: ReportSettings,
    season: SeasonSettings,
) -> Watch:
    """The watching of one scrape from the beginning of its record to the month's end."""
    first_on = period.first_on - timedelta(days=report.record_days)
    days = [
        first_on + timedelta(days=offset) for offset in range((period.last_on - first_on).days + 1)
    ]
    return Watch(
        spans=working_time(
            deployments=row.deployments,
            outages=row.outages,
            now_s=int(period.cut_off(now).timestamp()),
        ),
        day_starts_s=np.array([_first_second(day, period) for day in days], np.int64),
        days_from_peak=days_from_peak(
            np.array(days, dtype="datetime64[D]"),
            peak_month=land.peak_month,
            peak_day=land.peak_day,
        ),
        season=season,
    )


def _first_second(day: date, period: Period) -> int:
    return int(local_day(day, period.zone)[0].timestamp())
