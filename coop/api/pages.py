"""Cursor pages with links in the body and in the Link header (RFC 8288)."""

from collections.abc import Mapping, Sequence
from functools import reduce
from typing import Any

from django.core.exceptions import ValidationError
from django.db import DataError
from django.db.models import QuerySet
from rest_framework.exceptions import NotFound
from rest_framework.pagination import CursorPagination
from rest_framework.response import Response

from coop.api.problems import InvalidInput


class Pages(CursorPagination):
    """50 rows a page, 200 at most, or what the view's ``largest_page`` says; the order is stable
    because it ends with the id."""

    page_size_query_param = "page_size"
    max_page_size = 200
    # Rows that share the first value of the order are passed over by their number.
    offset_cutoff = 100_000
    ordering = ("id",)

    def paginate_queryset(self, queryset: Any, request: Any, view: Any = None) -> list[Any] | None:
        """A page's rows; raises :class:`InvalidInput` for a cursor that no page gave."""
        self.max_page_size = getattr(view, "largest_page", type(self).max_page_size)
        try:
            return super().paginate_queryset(queryset, request, view)
        except (NotFound, ValidationError, ValueError, OverflowError, DataError):
            if self.cursor_query_param not in request.query_params:
                raise
            raise InvalidInput(
                "cursor is not one of this list; follow the links as they are",
                errors=[{"pointer": "?cursor", "detail": "invalid cursor", "code": "invalid"}],
            ) from None

    def get_page_size(self, request: Any) -> int | None:
        """As asked for, at most the largest; raises :class:`InvalidInput` for what is no size."""
        asked = request.query_params.get(self.page_size_query_param)
        if asked is None:
            return super().get_page_size(request)
        try:
            size = int(asked)
        except ValueError:
            size = 0
        if size < 1:
            detail = "must be a whole number from 1 up"
            raise InvalidInput(
                f"page_size {detail}",
                errors=[{"pointer": "?page_size", "detail": detail, "code": "invalid"}],
            )
        return min(size, self.max_page_size)

    def get_ordering(self, request: Any, queryset: QuerySet[Any], view: Any) -> tuple[str, ...]:
        return tuple(getattr(view, "page_order", None) or self.ordering)

    def _get_position_from_instance(self, instance: Any, ordering: Sequence[str]) -> Any:
        """A row's value of the first column of the order, which may be of a row it points at."""
        column = ordering[0].lstrip("-")
        if isinstance(instance, Mapping):
            value = instance[column]
        else:
            value = reduce(getattr, column.split("__"), instance)
        return None if value is None else str(value)

    def get_paginated_response(self, data: Any) -> Response:
        links = {"next": self.get_next_link(), "prev": self.get_previous_link()}
        header = ", ".join(f'<{url}>; rel="{rel}"' for rel, url in links.items() if url)
        body = {"next": links["next"], "previous": links["prev"], "results": data}
        return Response(body, headers={"Link": header} if header else None)
