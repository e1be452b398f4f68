"""Lists told straight from columns: the serializer's members without an object for each row.

The serializer stays the one table of a list's members: their names and order are read from it,
and the column of each from its ``source``; of an instant of a place also the way to its property.
What it computes is named beside it, as a function of columns that both call. A test holds that
both tell the same JSON.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, ClassVar

from django.db.models import F, QuerySet
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import Field, ModelSerializer

from coop.access.actors import Actor
from coop.api.fields import LocalInstantField

Told = dict[str, Any]
AsShown = Callable[[Told, Actor], Told]


@dataclass(frozen=True)
class Computed:
    """A member computed from columns; ``tell`` takes their values in order."""

    tell: Callable[..., Any]
    columns: tuple[str, ...]


def as_it_is(told: Told, _actor: Actor) -> Told:
    return told


@dataclass(frozen=True)
class Rows:
    """How a serializer's rows are read and told.

    ``computed`` holds the members that are no column as it stands; ``as_shown`` takes from a
    row what an actor may not see of it.
    """

    serializer: type[ModelSerializer[Any]]
    computed: Mapping[str, Computed] = field(default_factory=dict)
    as_shown: AsShown = as_it_is

    def read(self, queryset: QuerySet[Any]) -> QuerySet[Any, dict[str, Any]]:
        """The rows as dictionaries of the columns that are needed, in the queryset's order."""
        plain = self._plain
        own = {member for member, column in plain.items() if member == column}
        computed_from = {column for one in self._computed.values() for column in one.columns}
        elsewhere = {member: F(plain[member]) for member in plain if member not in own}
        return queryset.values(*sorted(own | computed_from), **elsewhere)

    def told(self, rows: Iterable[Mapping[str, Any]], *, actor: Actor) -> list[Told]:
        """The members of each row, in the serializer's order, as this actor may see them."""
        computed = [(name, one.tell, one.columns) for name, one in self._computed.items()]
        found = []
        for row in rows:
            # A computed member stands where the serializer has it, and is filled in after.
            members = {name: row.get(name) for name in self.members}
            for name, tell, columns in computed:
                members[name] = tell(*[row[column] for column in columns])
            found.append(self.as_shown(members, actor))
        return found

    @cached_property
    def members(self) -> tuple[str, ...]:
        """Names of the members, in order."""
        fields = self.serializer().fields.items()
        return tuple(name for name, one in fields if not one.write_only)

    @cached_property
    def _computed(self) -> Mapping[str, Computed]:
        """What is computed, and instants by the clock of their property."""
        fields = self.serializer().fields.items()
        instants = {
            name: Computed(one.from_columns, (_column(one), f"{one.place}__time_zone"))
            for name, one in fields
            if isinstance(one, LocalInstantField)
        }
        return {**instants, **self.computed}

    @cached_property
    def _plain(self) -> dict[str, str]:
        """The column of each member that is not computed."""
        fields = self.serializer().fields
        return {name: _column(fields[name]) for name in self.members if name not in self._computed}


def _column(one: Field[Any, Any, Any, Any]) -> str:
    return str(one.source).replace(".", "__")


class RowListMixin(ListModelMixin):
    """The list of a viewset by :class:`Rows`, in pages of up to a thousand."""

    rows: ClassVar[Rows]
    largest_page = 1000

    def list(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        view: Any = self
        found = view.filter_queryset(view.get_queryset())
        page = view.paginate_queryset(self.rows.read(found))
        return view.get_paginated_response(self.rows.told(page, actor=view.actor))
