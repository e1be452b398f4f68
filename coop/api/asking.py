"""Read a question's query parameters; one that nobody documents is an error, not silence."""

from typing import Any

from coop.api.filters import PAGING
from coop.api.problems import InvalidInput
from coop.api.views import ActorViewSet


def read_query(view: ActorViewSet, serializer_class: type[Any]) -> dict[str, Any]:
    """The query parameters through a serializer; raises a 400 that names each."""
    asked = serializer_class(data=view.request.query_params, context=view.get_serializer_context())
    unknown = sorted(set(view.request.query_params) - set(asked.fields) - PAGING)
    if unknown:
        raise InvalidInput(
            f"unknown query parameter: {', '.join(unknown)}; known: {', '.join(asked.fields)}",
            errors=[
                {"pointer": f"?{name}", "detail": "unknown query parameter", "code": "unknown"}
                for name in unknown
            ],
        )
    asked.is_valid(raise_exception=True)
    return dict(asked.validated_data)
