"""Paper from HTML. Where the system lacks a library the page still goes out as HTML."""

from dataclasses import dataclass
from functools import cache
from typing import Any

MISSING = (
    "No PDF: this machine lacks libraries that WeasyPrint needs. On Debian install "
    "libpango-1.0-0, libpangoft2-1.0-0, libharfbuzz-subset0 and a font such as fonts-dejavu; "
    "on macOS, pango."
)


@dataclass(frozen=True, kw_only=True)
class Paper:
    """A PDF, or the reason why there is none."""

    pdf: bytes | None
    missing_reason: str = ""


def to_pdf(html: str) -> Paper:
    """The page on paper; fetches nothing, for the page holds all it needs."""
    try:
        # Loaded late: it takes most of a second and needs libraries of the system.
        from weasyprint import HTML, URLFetcher
    except (ImportError, OSError) as problem:
        return Paper(pdf=None, missing_reason=f"{MISSING} ({problem})"[:300])
    fetcher = URLFetcher(allowed_protocols=["data"], allow_redirects=False)
    page = HTML(string=html, url_fetcher=fetcher)
    return Paper(pdf=page.write_pdf(pdf_tags=True, font_config=_fonts()))


@cache
def _fonts() -> Any:
    """The fonts of this process: one for each page left some 240 KiB behind at every page."""
    from weasyprint.text.fonts import FontConfiguration

    return FontConfiguration()
