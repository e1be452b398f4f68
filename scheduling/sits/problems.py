"""How a sit is refused: by the house rules, by the order of its life, by a seat just taken."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from coop.api.problems import Problem, Refused
from properties.land.units import UnitSystem
from scheduling.rules.catalogue import in_units, objection
from scheduling.rules.refusal import Refusal


class NotTheHour(Problem):
    """Check-in is open from some hours before a session until its end."""

    code = "not_the_hour"
    title = "Check-in is not open at this hour"


class SeatTaken(Problem):
    """Another request took the seat between the judgement and the writing."""

    code = "seat_taken"
    title = "Somebody was faster"


OF_THE_MAP = frozenset({"name", "feature", "reason", "worst_feature"})
"""Facts of a refusal in which a mapped place, or why a stand is closed, may be named."""


def without_places(refusal: Refusal) -> Refusal:
    """The refusal for an outfitter: its figures, and of the map no name.

    The sentence is the objection's title, since its own names what the facts do.
    """
    if not OF_THE_MAP & refusal.facts.keys():
        return refusal
    facts = {name: value for name, value in refusal.facts.items() if name not in OF_THE_MAP}
    return replace(refusal, sentence=f"{objection(refusal.code).title}.", facts=facts)


def as_read(refusal: Refusal, *, units: UnitSystem, names_places: bool) -> Refusal:
    """The refusal for a reader: in their units, and without what of the map they may not see."""
    shown = in_units(refusal, units)
    return shown if names_places else without_places(shown)


def told(refusal: Refusal) -> dict[str, Any]:
    """A refusal as an answer holds it."""
    return {
        "code": refusal.code,
        "sentence": refusal.sentence,
        "facts": dict(refusal.facts),
        "overrulable": refusal.overrulable,
    }


def refused(
    found: Iterable[Refusal],
    *,
    names_places: bool = True,
    units: UnitSystem = UnitSystem.METRIC,
) -> Refused:
    """The problem that lists every objection; its detail is the first that nobody sets aside,
    else the first. Sentences are in the reader's ``units``."""
    listed = [told(as_read(each, units=units, names_places=names_places)) for each in found]
    more = f" ({len(listed) - 1} more)" if len(listed) > 1 else ""
    decides = min(listed, key=lambda each: each["overrulable"])
    return Refused(f"{decides['sentence']}{more}", refusals=listed)
