"""Write the stored months as files that a person opens."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.utils.text import slugify

from coop.demo.build import Built
from coop.reports.models import MonthlyReport


@dataclass(frozen=True, kw_only=True)
class WrittenReports:
    paths: list[Path]
    missing_reasons: list[str]
    """Why there is no PDF, each reason once; empty where there is one."""


def write_report_files(built: Built, folder: Path) -> WrittenReports:
    """Page, appendix, paper and figures of the latest edition of every month."""
    folder.mkdir(parents=True, exist_ok=True)
    newest: dict[tuple[object, object], MonthlyReport] = {}
    rows = MonthlyReport.objects.filter(property__in=built.lands.values())
    for report in rows.select_related("property").order_by("property__name", "month", "edition"):
        newest[report.property_id, report.month] = report
    reports = list(newest.values())
    reasons = {report.pdf_missing_reason for report in reports if report.pdf_missing_reason}
    return WrittenReports(
        paths=[path for report in reports for path in _write(report, folder)],
        missing_reasons=sorted(reasons),
    )


def _write(report: MonthlyReport, folder: Path) -> Iterator[Path]:
    stem = f"{slugify(report.property.name)}-{report.month:%Y-%m}"
    contents = {
        f"{stem}.html": report.html.encode(),
        f"{stem}-appendix.html": report.appendix_html.encode(),
        f"{stem}.json": json.dumps(report.figures, indent=1, ensure_ascii=False).encode(),
    }
    if report.pdf is not None:
        contents[f"{stem}.pdf"] = bytes(report.pdf)
    for name, content in contents.items():
        path = folder / name
        path.write_bytes(content)
        yield path
