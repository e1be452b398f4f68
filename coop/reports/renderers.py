"""Answers that are a page or a table of a report."""

from collections.abc import Mapping

from rest_framework.response import Response

from coop.api.problems import NotFound
from coop.api.rendering import PAGE_HEADERS
from coop.reports.tables import Figures, Table, table_csv


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
