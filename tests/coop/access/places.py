"""The cast and the places, and the marks by which a leak shows whatever its form.

North and south belong to one cooperative, foreign to another. Whatever is written about a
place carries a mark (``FeaturemarkSouth``). Nothing here is a real person or place.
"""

from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import Model

from properties.land.models import Property
from properties.people.models import (
    Person,
)
from tests.cast import Cast

PLACES = ("north", "south", "foreign")
TODAY = date(2025, 11, 1)
CONTACT = "contactmark"
"""Stands in every phone number, address and kin that nobody but managers may read."""

Ids = dict[str, str]


@dataclass(kw_only=True)
class World:
    """The cast and, for each place, the public id of one object of every kind."""

    cast: Cast
    revoked: Person
    ids: dict[str, Ids] = field(default_factory=lambda: {place: {} for place in PLACES})
    told_of_made_up: dict[tuple[Any, ...], str] = field(default_factory=dict)
    """Answers about ids that nothing has, kept by whoever compares with them."""

    def land(self, place: str) -> Property:
        return getattr(self.cast, place)

    def keep(self, place: str, kind: str, row: Model) -> Any:
        self.ids[place][kind] = str(row.pk)
        return row


def mark(what: str, place: str) -> str:
    return f"{what}mark{place.title()}"
