"""What a property's regulations and lease say of one day, for whoever hunts then."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from properties.land.models import Property
from properties.leases.queries import lease_in_force
from properties.regulations.kinds import RegulationKind
from properties.regulations.queries import in_force
from properties.regulations.words import Orange, regulation_words
from properties.sessions.confirmation import NOTICE

# The caution of its own says the first; the rules of booking hold the others.
_SAID_ELSEWHERE = (RegulationKind.ORANGE, RegulationKind.WEEKLY_CLOSED_DAYS)


@dataclass(frozen=True, kw_only=True)
class DayRules:
    """Hunter orange that day, and everything else as sentences; ``notice`` says what they are."""

    orange: Orange
    sentences: tuple[str, ...]
    notice: str = NOTICE


def day_rules(land: Property, *, on: date) -> DayRules:
    """What was entered for a local date; a constant few queries."""
    found = in_force(land, on=on)
    values = [row for row in found.values if row.kind not in _SAID_ELSEWHERE]
    return DayRules(
        orange=found.orange,
        sentences=(
            *_classes(found.classes),
            *(regulation_words(row.kind, row.value) for row in values),
            *_vehicles(land, on),
        ),
    )


def _classes(classes: tuple[str, ...]) -> Iterator[str]:
    if classes:
        yield (
            "By this property's settings the seasons of the day let these classes of deer be "
            f"taken: {', '.join(classes)}."
        )


def _vehicles(land: Property, on: date) -> Iterator[str]:
    lease = lease_in_force(property_id=land.id, on=on)
    if lease is not None and lease.vehicles is not None:
        said = "lets vehicles on the land" if lease.vehicles else "lets no vehicle on the land"
        yield f"The lease {said}. {lease.vehicles_note}".strip()
