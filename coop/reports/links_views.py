"""The page behind a signed link."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from coop.api.rendering import PAGE_HEADERS
from coop.reports import links
from coop.reports.page_headers import paper_headers


@require_safe
def linked_report(request: HttpRequest, token: str) -> HttpResponse:
    """An edition, for whoever holds a link that still holds."""
    try:
        found = links.follow(token)
    except links.LinkDoesNotHold:
        return HttpResponse(
            "This link no longer holds. Sign in, or ask the manager for a new one.\n",
            status=404,
            content_type="text/plain; charset=utf-8",
        )
    private = {"Referrer-Policy": "no-referrer", "X-Robots-Tag": "noindex"}
    report = found.report
    if found.form == "pdf" and report.pdf is not None:
        return HttpResponse(
            bytes(report.pdf),
            content_type="application/pdf",
            headers=paper_headers(report) | private,
        )
    return HttpResponse(
        report.html, content_type="text/html; charset=utf-8", headers=PAGE_HEADERS | private
    )
