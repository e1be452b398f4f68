"""Serializer fields: references that the caller may see, instants by a property's clock."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.relations import MANY_RELATION_KWARGS

from coop.access.actors import Actor
from coop.api.views import actor_of_view

MOST_REFERENCES = 50
"""How many things a list of references may name. Common practice, no source."""
TOO_MANY = f"At most {MOST_REFERENCES} at once."


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

    @classmethod
    def many_init(cls, *args: Any, **kwargs: Any) -> "VisibleListField":
        """With ``many=True``: no longer list than is looked up one by one."""
        child = {name: value for name, value in kwargs.items() if name != "many"}
        own = {name: value for name, value in child.items() if name in MANY_RELATION_KWARGS}
        return VisibleListField(child_relation=cls(*args, **child), **own)

    def get_queryset(self) -> QuerySet[Any]:
        actor: Actor = actor_of_view(self.context)
        return self._visible_to(actor=actor)


class VisibleListField(serializers.ManyRelatedField):
    """Several references, at most :data:`MOST_REFERENCES`."""

    default_error_messages = {"too_many": TOO_MANY}

    def to_internal_value(self, data: Any) -> list[Any]:
        if isinstance(data, list) and len(data) > MOST_REFERENCES:
            self.fail("too_many")
        return list(super().to_internal_value(data))


@extend_schema_field(serializers.DateTimeField())
class LocalInstantField(serializers.Field[Any, Any, Any, Any]):
    """An instant told to the second, with the property's offset that it already carries.

    The framework's own field would turn it back to UTC.
    """

    def to_representation(self, value: datetime) -> str:
        return value.isoformat(timespec="seconds")
