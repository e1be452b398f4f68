"""Who is on a property on a day, as the floors above tell it."""

from collections.abc import Callable
from datetime import date
from uuid import UUID

Presence = Callable[[UUID, date], frozenset[UUID]]

_sources: list[Presence] = []


def register_presence(source: Presence) -> None:
    """Let a floor above tell the ids of those who are there; sits do so when they are ready."""
    if source not in _sources:
        _sources.append(source)


def present_on(property_id: UUID, local_date: date) -> frozenset[UUID]:
    """Ids of the persons on a property on its local date; a guest counts like anybody."""
    return frozenset().union(*(source(property_id, local_date) for source in _sources))
