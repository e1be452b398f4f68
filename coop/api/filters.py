"""Filters: a parameter nobody knows is an error, not silence."""

from typing import Any

from django.db.models import QuerySet
from rest_framework.filters import BaseFilterBackend
from rest_framework.request import Request

from coop.api.problems import InvalidInput

PAGING = frozenset({"cursor", "page_size", "format"})


class KnownParametersFilter(BaseFilterBackend):
    """Refuses query parameters that the view does not document."""

    def filter_queryset(
        self, request: Request, queryset: QuerySet[Any], view: Any
    ) -> QuerySet[Any]:
        if request.method not in ("GET", "HEAD") or view.detail:
            return queryset
        known = self._known(view)
        unknown = sorted(set(request.query_params) - known)
        if unknown:
            raise InvalidInput(
                f"unknown query parameter: {', '.join(unknown)}; "
                f"known: {', '.join(sorted(known - {'format'}))}",
                errors=[
                    {"pointer": f"?{name}", "detail": "unknown query parameter", "code": "unknown"}
                    for name in unknown
                ],
            )
        return queryset

    def _known(self, view: Any) -> set[str]:
        known = set(PAGING) | set(getattr(view, "extra_parameters", ()))
        filterset = getattr(view, "filterset_class", None)
        if filterset is not None:
            known |= set(filterset.get_filters())
        if getattr(view, "search_fields", None):
            known.add("search")
        return known
