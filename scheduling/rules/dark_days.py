"""Days on which nobody sits, so that deer learn no routine."""

from collections.abc import Iterator

from scheduling.rules.facts import SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

DARK_DAY = Objection(
    code="dark_day",
    title="Dark day",
    template="{local_date:%a %d %b %Y} is a dark day on {property}: nobody sits there.",
    overrulable=True,
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    place = facts.property_of(facts.stand(proposal.stand_id))
    day = proposal.local_date
    if day in place.dark_dates or day.isoweekday() in limits.house.dark_weekdays:
        yield DARK_DAY.refuse(local_date=day, property=place.name)


RULE = Rule(
    title="Dark days",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.STAND,
    one_for_property=True,
    objections=(DARK_DAY,),
    settings=("house_rules/dark_weekdays",),
    judge=judge,
)
