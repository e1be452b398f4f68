"""The managers' appendix: visits at scrapes against expected, wind, and sits by wind."""

from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from numpy.typing import NDArray

from coop.reports.periods import Period
from coop.reports.rows import PRESENT, MonthRows, ScrapeRow
from coop.reports.settings import ReportSettings
from coop.reports.watching import Watch, watch_of
from properties.wind.sectors import SECTOR_NAMES
from properties.wind.wind_rose import wind_rose
from scrapes.visits.drop_model import base_rate, dispersion_of, predict
from scrapes.visits.events import Visits, independent_visits
from scrapes.visits.rates import GammaRate, poisson_limits, prior_from_others
from scrapes.visits.settings import DropSettings, SeasonSettings, VisitSettings


@dataclass(frozen=True, kw_only=True)
class Count:
    """Visits counted in camera-nights, with what was expected of them.

    ``low`` and ``high`` are exact Poisson limits of the mean behind the count; ``expected`` is
    None where nothing was watched.
    """

    visits: int
    camera_nights: float
    low: float
    high: float
    expected: float | None


@dataclass(frozen=True, kw_only=True)
class ScrapeMonth:
    """One scrape's month; ``before`` and ``since`` part it at the last scent of the month."""

    name: str
    whole: Count
    scent_on: date | None
    before: Count | None
    since: Count | None
    untagged_pictures: int


@dataclass(frozen=True, kw_only=True)
class WindMonth:
    """Hours by sector (from north, clockwise) and speed class, from one source."""

    source: str
    sectors: tuple[str, ...]
    speed_edges_mps: tuple[float, ...]
    hours: tuple[tuple[int, ...], ...]
    calm_hours: int
    variable_hours: int
    unknown_hours: int
    sits: tuple[int, ...]
    sits_without_observed_wind: int


@dataclass(frozen=True, kw_only=True)
class AppendixFigures:
    scrapes: tuple[ScrapeMonth, ...]
    wind: WindMonth
    confidence: float
    record_days: int


def appendix_figures(
    rows: MonthRows,
    period: Period,
    *,
    report: ReportSettings,
    visits: VisitSettings,
    season: SeasonSettings,
    drop: DropSettings,
) -> AppendixFigures:
    """The appendix of one month."""
    return AppendixFigures(
        scrapes=_scrapes(rows, period, report=report, visits=visits, season=season, drop=drop),
        wind=_wind(rows),
        confidence=report.confidence,
        record_days=report.record_days,
    )


@dataclass(frozen=True, kw_only=True)
class _Learned:
    """One scrape's watching and visits, and its record before the month."""

    row: ScrapeRow
    watch: Watch
    visits_s: NDArray[np.int64]
    past_visits: int
    past_use: float
    dispersion: float


def _scrapes(
    rows: MonthRows,
    period: Period,
    *,
    report: ReportSettings,
    visits: VisitSettings,
    season: SeasonSettings,
    drop: DropSettings,
) -> tuple[ScrapeMonth, ...]:
    collapsed = independent_visits(
        scrape=rows.pictures.scrape,
        start_s=rows.pictures.start_s,
        end_s=rows.pictures.end_s,
        individual=rows.pictures.individual,
        settings=visits,
    )
    learned = [
        _learn(code, row, rows, period, collapsed, report=report, season=season, drop=drop)
        for code, row in enumerate(rows.scrapes)
    ]
    return tuple(
        _scrape_month(
            one,
            _prior(learned, without=code, drop=drop),
            period,
            untagged=int(rows.pictures.untagged[code]),
            confidence=report.confidence,
        )
        for code, one in enumerate(learned)
    )


def _learn(
    code: int,
    row: ScrapeRow,
    rows: MonthRows,
    period: Period,
    collapsed: Visits,
    *,
    report: ReportSettings,
    season: SeasonSettings,
    drop: DropSettings,
) -> _Learned:
    watch = watch_of(row, land=rows.land, period=period, now=rows.now, report=report, season=season)
    # What was seen outside watched time, an outage say, is no part of a rate.
    seen_s = watch.watched(collapsed.start_s[collapsed.scrape == code])
    begins = int(period.starts_at.timestamp())
    past = watch.nights_before(begins)
    counted = past.visits(seen_s)
    return _Learned(
        row=row,
        watch=watch,
        visits_s=seen_s,
        past_visits=int(counted.sum()),
        past_use=float(past.use.sum()),
        dispersion=dispersion_of(counted, past.use, assumed=drop.dispersion),
    )


def _prior(learned: list[_Learned], *, without: int, drop: DropSettings) -> GammaRate:
    """What the property's other scrapes teach about one of them."""
    others = [one for code, one in enumerate(learned) if code != without]
    return prior_from_others(
        [one.past_visits for one in others],
        [one.past_use for one in others],
        fallback=GammaRate(
            shape=drop.prior_shape, rate=drop.prior_shape / drop.prior_visits_per_night
        ),
        shape_maximum=drop.prior_shape_maximum,
    )


def _scrape_month(
    one: _Learned, prior: GammaRate, period: Period, *, untagged: int, confidence: float
) -> ScrapeMonth:
    base = base_rate(
        prior, visits=one.past_visits, use_nights=one.past_use, dispersion=one.dispersion
    )
    begins, ends = int(period.starts_at.timestamp()), int(period.ends_at.timestamp())

    def count(start_s: int, end_s: int) -> Count:
        nights = one.watch.nights_between(start_s, end_s)
        seen = int(nights.visits(one.visits_s).sum())
        low, high = poisson_limits(seen, confidence=confidence)
        watched = float(nights.camera_nights.sum())
        expected = predict(base, use_nights=float(nights.use.sum()), dispersion=one.dispersion)
        return Count(
            visits=seen,
            camera_nights=round(watched, 2),
            low=round(float(low), 2),
            high=round(float(high), 2),
            expected=round(expected.mean, 2) if watched > 0 else None,
        )

    scent = [instant for instant in one.row.scent_s if begins <= instant < ends]
    last = scent[-1] if scent else None
    return ScrapeMonth(
        name=one.row.name,
        whole=count(begins, ends),
        scent_on=None if last is None else _local_date(last, period),
        before=None if last is None else count(begins, last),
        since=None if last is None else count(last, ends),
        untagged_pictures=untagged,
    )


def _local_date(instant_s: int, period: Period) -> date:
    return datetime.fromtimestamp(instant_s, tz=period.zone).date()


def _wind(rows: MonthRows) -> WindMonth:
    rose = wind_rose(
        wind_from_deg=rows.wind.wind_from_deg,
        speed_mps=rows.wind.speed_mps,
        variable=rows.wind.variable,
    )
    sits = [row.observed_sector for row in rows.sits if row.state in PRESENT]
    by_sector = Counter(sector for sector in sits if sector is not None)
    return WindMonth(
        source=rows.wind.source,
        sectors=SECTOR_NAMES,
        speed_edges_mps=rose.speed_edges_mps,
        hours=tuple(tuple(int(hours) for hours in sector) for sector in rose.counts),
        calm_hours=rose.calm,
        variable_hours=rose.variable,
        unknown_hours=rose.unknown,
        sits=tuple(by_sector[sector] for sector in range(len(SECTOR_NAMES))),
        sits_without_observed_wind=sum(sector is None for sector in sits),
    )
