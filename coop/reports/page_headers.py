"""What a stored page tells a browser about itself."""

from coop.reports.models import MonthlyReport

# A page of a report needs its own styles and nothing else from anywhere.
PAGE_HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'"
    ),
    "Cache-Control": "private, no-cache",
}


def paper_name(report: MonthlyReport) -> str:
    return f"report-{report.month:%Y-%m}-edition-{report.edition}.pdf"


def paper_headers(report: MonthlyReport) -> dict[str, str]:
    return headers_of_paper(paper_name(report))


def headers_of_paper(name: str) -> dict[str, str]:
    return {
        "Content-Disposition": f'inline; filename="{name}"',
        "Cache-Control": "private, no-cache",
    }
