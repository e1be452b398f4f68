"""Serializer fields: references that the caller may see, instants by a property's clock."""

from collections.abc import Callable
from datetime import datetime
from operator import attrgetter
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from django.db.models import F, Model, QuerySet
from rest_framework import serializers
from rest_framework.relations import MANY_RELATION_KWARGS

from coop.access.actors import Actor
from coop.api.views import actor_of_view

Row = TypeVar("Row", bound=Model)

MOST_REFERENCES = 50
"""How many things a list of references may name. Common practice, no source."""
TIME_ZONE = "time_zone"
"""The member of a serializer's context with the name of the property's time zone."""
ZONE_COLUMN = "zone_of_property"
BY_ITS_CLOCK = "Told by the clock of its property"
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
        if not isinstance(data, list):
            self.fail("not_a_list", input_type=type(data).__name__)
        if len(data) > MOST_REFERENCES:
            self.fail("too_many")
        if not data and not self.allow_empty:
            self.fail("empty")
        return self._each(data)

    def _each(self, data: list[Any]) -> list[Any]:
        """Every reference read; a fault stands at the number of what it is about."""
        read: list[Any] = []
        faults: dict[str, Any] = {}
        for index, item in enumerate(data):
            try:
                read.append(self.child_relation.to_internal_value(item))
            except serializers.ValidationError as error:
                faults[str(index)] = error.detail
        if faults:
            raise serializers.ValidationError(faults)
        return read


class LocalInstantField(serializers.DateTimeField):
    """An instant of a place, told with the offset that its property's clocks have then.

    Whose clocks: those named in the context under :data:`TIME_ZONE`, for an answer about one
    property; else of the property to which ``place`` leads from a row (``camera__property``);
    else the instant carries its offset already. Any offset may be sent. The framework's own
    field would tell all in UTC. What is told is left to the encoder to write, which is quicker by
    far where an instant carries a zone.
    """

    def __init__(self, *, place: str = "", whole_seconds: bool = False, **kwargs: Any) -> None:
        self.place = place
        self._whole_seconds = whole_seconds
        kwargs.setdefault("help_text", BY_ITS_CLOCK)
        super().__init__(**kwargs)

    def get_attribute(self, instance: Any) -> Any:
        instant = super().get_attribute(instance)
        if instant is None:
            return None
        zone = self._zone_of(instance)
        return local_instant(instant, zone) if zone else instant

    def to_representation(self, value: Any) -> Any:
        return value.replace(microsecond=0) if self._whole_seconds else value

    def from_columns(self, instant: datetime | None, time_zone: str) -> Any:
        """The same of columns, for lists that make no object of each row."""
        if instant is None:
            return None
        return self.to_representation(local_instant(instant, time_zone))

    def _zone_of(self, row: Any) -> str:
        known = self.context.get(TIME_ZONE) or getattr(row, "__dict__", {}).get(ZONE_COLUMN)
        if known or not self.place:
            return known or ""
        return str(attrgetter(f"{self.place.replace('__', '.')}.time_zone")(row))


def with_zones(rows: QuerySet[Row], place: str = "property") -> QuerySet[Row]:
    """Rows that bring the zone of their property along, so that none is looked up row by row."""
    return rows.annotate(**{ZONE_COLUMN: F(f"{place}__time_zone")})


def local_instant(instant: datetime, time_zone: str) -> datetime:
    """The instant (aware) with the offset of a zone then."""
    return instant.astimezone(ZoneInfo(time_zone))
