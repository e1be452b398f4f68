"""What a property's regulations and lease say of one day, for whoever hunts then."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from properties.land.models import Property
from properties.leases.queries import lease_in_force
from properties.regulations.kinds import RegulationKind
from properties.regulations.models import Regulation
from properties.regulations.queries import in_force, is_value_unconfirmed_on
from properties.regulations.words import Orange, regulation_words
from properties.sessions.confirmation import NOTICE

UNCONFIRMED = "(Unconfirmed: more than a year has passed since anybody read it.)"
# The caution of its own says the first; the rules of booking hold the other.
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
    return DayRules(
        orange=found.orange,
        sentences=(
            *_classes(found.classes),
            *(_said(row, on) for row in found.values if _is_told(row, on)),
            *_vehicles(land, on),
        ),
    )


def _said(row: Regulation, on: date) -> str:
    said = regulation_words(row.kind, row.value)
    return f"{said} {UNCONFIRMED}" if is_value_unconfirmed_on(row, on) else said


def _is_told(row: Regulation, on: date) -> bool:
    """What is said elsewhere is told here only to add that nobody confirmed it."""
    return row.kind not in _SAID_ELSEWHERE or is_value_unconfirmed_on(row, on)


def _classes(classes: tuple[str, ...]) -> Iterator[str]:
    if classes:
        yield (
            "By this property's settings the seasons of the day let these classes of deer be "
            f"taken: {', '.join(classes)}."
        )


def vehicles_by_lease(land: Property, *, on: date) -> str:
    """What the lease of a local date says of vehicles; empty where it says nothing."""
    lease = lease_in_force(property_id=land.id, on=on)
    if lease is None or lease.vehicles is None:
        return ""
    said = "lets vehicles on the land" if lease.vehicles else "lets no vehicle on the land"
    return f"The lease {said}. {lease.vehicles_note}".strip()


def _vehicles(land: Property, on: date) -> Iterator[str]:
    said = vehicles_by_lease(land, on=on)
    if said:
        yield said
