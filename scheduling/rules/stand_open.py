"""A stand is offered while it is in use and neither it nor its ground is closed."""

import math
from collections.abc import Iterator
from typing import Any

from properties.land.closure_words import as_ending
from scheduling.rules.facts import Closure, SessionFacts, SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

RETIRED = Objection(
    code="stand_retired",
    title="Stand retired",
    template="{stand} on {property} has been retired.",
)
STAND_CLOSED = Objection(
    code="stand_closed",
    title="Stand closed",
    template="{stand} on {property} is closed {period}: {reason}",
)
PROPERTY_CLOSED = Objection(
    code="property_closed",
    title="Ground closed",
    template="{property}, where {stand} stands, is closed {period}: {reason}",
)

PART_CLOSED = Objection(
    code="part_closed",
    title="Part of the ground closed",
    template=(
        "The part of {property} where {stand} stands, or where the way to it leads, is closed "
        "{period}: {reason}"
    ),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    stand = facts.stand(proposal.stand_id)
    place = facts.property_of(stand)
    if not (stand.is_retired or stand.closures or place.closures or stand.ground_closures):
        return
    names = {"stand": stand.name, "property": place.name}
    if stand.is_retired:
        yield RETIRED.refuse(**names)
    sessions = facts.sessions_of(proposal)
    for closure in _in_force(stand.closures, sessions):
        yield STAND_CLOSED.refuse(**names, **_shown(closure))
    for closure in _in_force(place.closures, sessions):
        yield PROPERTY_CLOSED.refuse(**names, **_shown(closure))
    for closure in _in_force(stand.ground_closures, sessions):
        yield PART_CLOSED.refuse(**names, **_shown(closure))


def _in_force(
    closures: tuple[Closure, ...], sessions: tuple[SessionFacts, ...]
) -> Iterator[Closure]:
    for closure in sorted(closures, key=_since):
        if any(_concerns(closure, there) for there in sessions):
            yield closure


def _since(closure: Closure) -> tuple[float, str]:
    began = closure.starts_at.timestamp() if closure.starts_at else -math.inf
    return began, closure.reason


def _concerns(closure: Closure, there: SessionFacts) -> bool:
    is_of_kind = closure.session_kind in (None, there.session.kind)
    return is_of_kind and closure.touches(there.starts_at, there.ends_at)


def _shown(closure: Closure) -> dict[str, Any]:
    until = (
        f"until {closure.ends_at:%d %b %Y %H:%M %Z}" if closure.ends_at else "until further notice"
    )
    since = f"from {closure.starts_at:%d %b %Y %H:%M %Z} " if closure.starts_at else ""
    only = f"in its {closure.session_kind.value} sessions " if closure.session_kind else ""
    return {
        "period": f"{only}{since}{until}",
        "reason": as_ending(closure.reason),
        "closed_from": closure.starts_at,
        "closed_until": closure.ends_at,
    }


RULE = Rule(
    title="The stand is open",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.STAND,
    objections=(RETIRED, STAND_CLOSED, PROPERTY_CLOSED, PART_CLOSED),
    settings=(),
    judge=judge,
)
