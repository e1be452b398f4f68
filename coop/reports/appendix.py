"""The managers' appendix: visits at scrapes against expected, wind, and sits by wind."""

from collections import Counter
from dataclasses import dataclass

from coop.reports.rows import PRESENT, MonthRows, ScrapeMonth
from properties.wind.sectors import SECTOR_NAMES
from properties.wind.wind_rose import wind_rose


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


def appendix_figures(rows: MonthRows, *, confidence: float, record_days: int) -> AppendixFigures:
    """The appendix of one month."""
    return AppendixFigures(
        scrapes=rows.scrapes,
        wind=_wind(rows),
        confidence=confidence,
        record_days=record_days,
    )


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
