"""What a stored page tells a browser about itself."""

from coop.reports.models import MonthlyReport


def paper_name(report: MonthlyReport) -> str:
    return f"report-{report.month:%Y-%m}-edition-{report.edition}.pdf"


def paper_headers(report: MonthlyReport) -> dict[str, str]:
    return headers_of_paper(paper_name(report))


def headers_of_paper(name: str) -> dict[str, str]:
    return {
        "Content-Disposition": f'inline; filename="{name}"',
        "Cache-Control": "private, no-cache",
    }
