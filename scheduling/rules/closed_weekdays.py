"""Nobody sits on the weekdays that are closed by the regulations entered for a property."""

from collections.abc import Iterator

from scheduling.rules.facts import SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

CLOSED_WEEKDAY = Objection(
    code="closed_weekday",
    title="Weekday closed to hunting",
    template=(
        "{local_date:%a %d %b %Y} is a weekday closed to hunting by the settings of {property}; "
        "check your state's regulations."
    ),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    place = facts.property_of(facts.stand(proposal.stand_id))
    if proposal.local_date in place.closed_weekday_dates:
        yield CLOSED_WEEKDAY.refuse(local_date=proposal.local_date, property=place.name)


RULE = Rule(
    title="Weekdays closed to hunting",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.STAND,
    one_for_property=True,
    objections=(CLOSED_WEEKDAY,),
    settings=(),
    judge=judge,
)
