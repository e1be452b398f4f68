"""Read a question's query parameters; one that nobody documents is an error, not silence."""

from typing import Any

from coop.api.allowed import tell_what_is_allowed
from coop.api.filters import refuse_unknown_parameters
from coop.api.views import ActorViewSet


def read_query(view: ActorViewSet, serializer_class: type[Any]) -> dict[str, Any]:
    """The query parameters through a serializer; raises a 400 that names each."""
    asked = serializer_class(data=view.request.query_params, context=view.get_serializer_context())
    tell_what_is_allowed(asked)
    refuse_unknown_parameters(view.request, known=set(asked.fields))
    asked.is_valid(raise_exception=True)
    return dict(asked.validated_data)
