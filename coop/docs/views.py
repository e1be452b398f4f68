"""Serve the pages of this folder as HTML."""

import re
from collections.abc import Callable
from functools import lru_cache, wraps
from pathlib import Path
from typing import Any

import markdown
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils.safestring import mark_safe

FOLDER = Path(__file__).parent
_NAME = re.compile(r"[a-z0-9-]{1,80}")
_PICTURE = re.compile(r"[a-z0-9-]{1,80}\.svg")


# Styles, scripts, pictures and fonts come from this server or from the page itself; whoever
# reads the documentation is made known to nobody else.
_FROM_HERE_ALONE = "default-src 'self' 'unsafe-inline' 'unsafe-eval' data: blob:"


def from_here_alone(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """Forbid a page's browser to load anything from another host."""

    @wraps(view)
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        response = view(request, *args, **kwargs)
        response["Content-Security-Policy"] = _FROM_HERE_ALONE
        return response

    return answer


@from_here_alone
def page(request: HttpRequest, name: str = "index") -> HttpResponse:
    """One page, or a 404 for a name that is no file here."""
    path = FOLDER / f"{name}.md"
    if not _NAME.fullmatch(name) or not path.is_file():
        raise Http404(name)
    title, body = _rendered(path, path.stat().st_mtime_ns)
    return render(request, "docs/page.html", {"title": title, "body": body, "name": name})


def picture(request: HttpRequest, name: str) -> HttpResponse:
    """One drawn picture of the pages, or a 404 for a name that is none."""
    path = FOLDER / "images" / name
    if not _PICTURE.fullmatch(name) or not path.is_file():
        raise Http404(name)
    return HttpResponse(path.read_bytes(), content_type="image/svg+xml")


@lru_cache(maxsize=64)
def _rendered(path: Path, _changed_ns: int) -> tuple[str, str]:
    text = path.read_text(encoding="utf-8")
    title = text.partition("\n")[0].lstrip("# ").strip()
    html = markdown.markdown(text, extensions=["tables", "fenced_code", "toc"])
    # The pages are files of this folder; nobody else writes them.
    return title, mark_safe(html)  # noqa: S308
