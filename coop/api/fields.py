"""Serializer fields: references that the caller may see, instants by a property's clock."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from coop.access.actors import Actor
from coop.api.views import actor_of_view


class VisibleField(serializers.PrimaryKeyRelatedField):
    """A reference by public id, looked up among what the actor may see.

    What is hidden and what does not exist give the same error, so ids cannot be probed.
    """

    default_error_messages = {
        "does_not_exist": "There is no such object, or none that you may see.",
        "incorrect_type": "Must be a public id (UUID).",
    }

    def __init__(self, visible_to: Callable[..., QuerySet[Any]], **kwargs: Any) -> None:
        self._visible_to = visible_to
        kwargs.setdefault("pk_field", serializers.UUIDField())
        super().__init__(**kwargs)

    def get_queryset(self) -> QuerySet[Any]:
        actor: Actor = actor_of_view(self.context)
        return self._visible_to(actor=actor)


@extend_schema_field(serializers.DateTimeField())
class LocalInstantField(serializers.Field[Any, Any, Any, Any]):
    """An instant told to the second, with the property's offset that it already carries.

    The framework's own field would turn it back to UTC.
    """

    def to_representation(self, value: datetime) -> str:
        return value.isoformat(timespec="seconds")
