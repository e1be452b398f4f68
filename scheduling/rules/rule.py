"""What one house rule is: its objections, where it applies, and how it judges."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import cached_property
from string import Formatter
from typing import TYPE_CHECKING, Any

from properties.land.units import Quantity, UnitSystem
from properties.sessions.kinds import SessionKey
from scheduling.rules.refusal import Refusal
from scheduling.rules.words import quantity_words

if TYPE_CHECKING:
    from scheduling.rules.facts import SitProposal, StandFacts
    from scheduling.rules.limits import Limits
    from scheduling.rules.snapshot import BookingFacts


_QUANTITIES = frozenset(Quantity)


class AppliesTo(StrEnum):
    """Whether a rule judges bookings, constrains the plan, or does both."""

    BOOKING = "booking"
    PLANNING = "planning"
    BOTH = "both"


class LooksAt(StrEnum):
    """What a rule must know, beside the snapshot, to judge.

    The first two are filters: they judge a candidate seat on its own, so a plan leaves
    out what they refuse. ``SITS`` rules weigh a proposal against other sits.
    """

    STAND = "stand and session"
    MEMBER = "member and session"
    SITS = "other sits"


@dataclass(frozen=True, kw_only=True)
class Objection:
    """One documented reason to refuse.

    ``template`` is the sentence with its facts in braces; a fact in SI units that is read in
    the reader's names its quantity: ``{gust_mps:speed}``. ``overrulable`` is False for
    whatever touches safety or access.
    """

    code: str
    title: str
    template: str
    overrulable: bool = False

    def refuse(self, **facts: Any) -> Refusal:
        """The refusal with ``facts`` put into the sentence and kept as JSON values.

        Raises ``KeyError`` when the template names a fact that is not given.
        """
        return Refusal(
            code=self.code,
            sentence=self.sentence(facts, UnitSystem.METRIC),
            facts={name: _json_value(value) for name, value in facts.items()},
            overrulable=self.overrulable,
        )

    @cached_property
    def quantities(self) -> Mapping[str, Quantity]:
        """What the template measures, by the name of its fact."""
        parts = Formatter().parse(self.template)
        return {name: Quantity(spec) for _, name, spec, _ in parts if name and spec in _QUANTITIES}

    def sentence(self, facts: Mapping[str, Any], system: UnitSystem) -> str:
        """The sentence with its quantities in the units of ``system``."""
        if not self.quantities:
            return self.template.format_map(facts)
        measured = {
            name: _Measured(facts[name], quantity, system)
            for name, quantity in self.quantities.items()
        }
        return self.template.format_map({**facts, **measured})


@dataclass(frozen=True)
class _Measured:
    """A fact that its template writes in a reader's units."""

    stored: float
    quantity: Quantity
    system: UnitSystem

    def __format__(self, _spec: str) -> str:
        return quantity_words(self.stored, self.quantity, self.system)


def when(session: SessionKey) -> dict[str, Any]:
    """The facts ``local_date`` and ``session`` by which a sentence names a session."""
    return {"local_date": session.local_date, "session": session.kind.value}


def at_stand(stand: StandFacts, session: SessionKey) -> dict[str, Any]:
    """The facts of :func:`when`, and ``stand``, its name."""
    return {"stand": stand.name, **when(session)}


def _json_value(value: Any) -> Any:
    if isinstance(value, date):  # a datetime is a date too
        return value.isoformat()
    if isinstance(value, tuple | list):
        return [_json_value(item) for item in value]
    if isinstance(value, StrEnum):
        return value.value
    return value


Judge = Callable[["SitProposal", "BookingFacts", "Limits"], Iterable[Refusal]]


@dataclass(frozen=True, kw_only=True)
class Rule:
    """One house rule.

    ``settings`` are names as ``group/name``. ``judge`` is None where the rule has nothing to
    say to a booking and only limits what a plan gives. ``one_for_property``: of the stand it
    looks at nothing but the property, so that one judgement holds for every stand there with
    the same limits.
    """

    title: str
    applies_to: AppliesTo
    looks_at: LooksAt
    objections: tuple[Objection, ...]
    settings: tuple[str, ...]
    judge: Judge | None
    one_for_property: bool = False

    @property
    def is_filter(self) -> bool:
        """Whether it judges a candidate seat without looking at other sits."""
        return self.looks_at is not LooksAt.SITS
