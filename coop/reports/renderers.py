"""How pages, paper and tables leave: as they are stored or made, never as JSON strings."""

from collections.abc import Mapping
from typing import Any

import orjson
from rest_framework.renderers import BaseRenderer
from rest_framework.response import Response

from coop.api.problems import NotFound
from coop.reports.page_headers import PAGE_HEADERS
from coop.reports.tables import Figures, Table, table_csv


class StoredTextRenderer(BaseRenderer):
    """Hands on stored text or bytes; problem details leave as JSON, as everywhere."""

    charset = "utf-8"

    def render(
        self,
        data: Any,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, Any] | None = None,
    ) -> bytes | str:
        return data if isinstance(data, bytes | str) else orjson.dumps(data)


class PageRenderer(StoredTextRenderer):
    media_type = "text/html"
    format = "html"


class PaperRenderer(StoredTextRenderer):
    media_type = "application/pdf"
    format = "pdf"
    charset = None  # type: ignore[assignment]
    render_style = "binary"


class TableRenderer(StoredTextRenderer):
    media_type = "text/csv"
    format = "csv"


def page_answer(html: str) -> Response:
    return Response(html, content_type="text/html; charset=utf-8", headers=PAGE_HEADERS)


def csv_answer(
    tables: Mapping[str, Table], table: str, figures: Figures, *, period: str
) -> Response:
    """One table of figures as a file; 404 names the tables that there are."""
    if table not in tables:
        raise NotFound(f"There is no such table; there are {', '.join(sorted(tables))}.")
    return Response(
        table_csv(tables[table], figures),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{table}-{period}.csv"'},
    )
