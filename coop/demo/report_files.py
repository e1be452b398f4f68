"""Write the stored reports, and the weeks ahead, as files that a person opens."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from django.utils.text import slugify

from coop.demo.build import Built
from coop.reports.models import MonthlyReport, SeasonReport
from coop.reports.week.gather import week_ahead
from coop.reports.week.pages import write_week_page
from properties.land.units import UnitSystem


@dataclass(frozen=True, kw_only=True)
class WrittenReports:
    paths: list[Path]
    missing_reasons: list[str]
    """Why there is no PDF, each reason once; empty where there is one."""


def write_report_files(built: Built, folder: Path, *, now: datetime) -> WrittenReports:
    """Page, appendix, paper and figures of the latest edition of every month and season.

    Beside them each property's week ahead, as its manager reads it at ``now``.
    """
    folder.mkdir(parents=True, exist_ok=True)
    newest: dict[tuple[object, object], MonthlyReport] = {}
    rows = MonthlyReport.objects.filter(property__in=built.lands.values())
    for report in rows.select_related("property").order_by("property__name", "month", "edition"):
        newest[report.property_id, report.month] = report
    reports = list(newest.values())
    reasons = {report.pdf_missing_reason for report in reports if report.pdf_missing_reason}
    paths = [path for report in reports for path in _write(report, folder)]
    paths += _write_season(built, folder)
    for land in sorted(built.lands.values(), key=lambda one: one.name):
        page = write_week_page(
            week_ahead(land=land, now=now, units=UnitSystem.US), units=UnitSystem.US
        )
        paths.append(_written(folder / f"{slugify(land.name)}-week-ahead.html", page.encode()))
    return WrittenReports(
        paths=paths,
        missing_reasons=sorted(reasons),
    )


def _write(report: MonthlyReport, folder: Path) -> Iterator[Path]:
    stem = f"{slugify(report.property.name)}-{report.month:%Y-%m}"
    yield _written(folder / f"{stem}.html", report.html.encode())
    yield _written(folder / f"{stem}-appendix.html", report.appendix_html.encode())
    yield _written(folder / f"{stem}.json", _json(report.figures))
    if report.pdf is not None:
        yield _written(folder / f"{stem}.pdf", bytes(report.pdf))


def _write_season(built: Built, folder: Path) -> Iterator[Path]:
    editions = SeasonReport.objects.filter(cooperative=built.cooperative)
    report = editions.order_by("-season_year", "-edition").first()
    if report is None:
        return
    stem = f"season-{report.season_year}"
    yield _written(folder / f"{stem}.html", report.html.encode())
    yield _written(folder / f"{stem}.json", _json(report.figures))
    if report.pdf is not None:
        yield _written(folder / f"{stem}.pdf", bytes(report.pdf))


def _json(figures: Mapping[str, Any]) -> bytes:
    return json.dumps(figures, indent=1, ensure_ascii=False).encode()


def _written(path: Path, content: bytes) -> Path:
    path.write_bytes(content)
    return path
