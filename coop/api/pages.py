"""Cursor pages with links in the body and in the Link header (RFC 8288)."""

from typing import Any

from django.db.models import QuerySet
from rest_framework.pagination import CursorPagination
from rest_framework.response import Response


class Pages(CursorPagination):
    """50 rows a page, 200 at most; the order is stable because it ends with the id."""

    page_size_query_param = "page_size"
    max_page_size = 200
    ordering = ("id",)

    def get_ordering(self, request: Any, queryset: QuerySet[Any], view: Any) -> tuple[str, ...]:
        return tuple(getattr(view, "page_order", None) or self.ordering)

    def get_paginated_response(self, data: Any) -> Response:
        links = {"next": self.get_next_link(), "prev": self.get_previous_link()}
        header = ", ".join(f'<{url}>; rel="{rel}"' for rel, url in links.items() if url)
        body = {"next": links["next"], "previous": links["prev"], "results": data}
        return Response(body, headers={"Link": header} if header else None)
