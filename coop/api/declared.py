"""What a question that is no list may ask is what the description says of it; nothing else."""

from typing import Any

from drf_spectacular.utils import OpenApiParameter
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request

from coop.api.filters import PAGING, known_to_filters, refuse_unknown_parameters


def refuse_undeclared_parameters(request: Request, view: Any) -> None:
    """Raise a 400 that names the query parameters which nobody declared of the view's action.

    Lists that filter rows look at theirs themselves.
    """
    if request.method not in SAFE_METHODS or view.action in (None, "metadata"):
        return
    if set(request.query_params) <= PAGING or (view.action == "list" and view.filter_backends):
        return
    filtered = known_to_filters(view) if view.filter_backends and not view.detail else set()
    refuse_unknown_parameters(request, known=_declared(view) | filtered)


def _declared(view: Any) -> set[str]:
    schema_class = getattr(getattr(view, view.action), "kwargs", {}).get("schema")
    if schema_class is None:
        return set()
    schema = schema_class()
    schema.view, schema.method = view, view.request.method
    names: set[str] = set()
    for each in schema.get_override_parameters():
        if not isinstance(each, OpenApiParameter):
            names |= set((each() if isinstance(each, type) else each).fields)
        elif each.location == OpenApiParameter.QUERY:
            names.add(each.name)
    return names
