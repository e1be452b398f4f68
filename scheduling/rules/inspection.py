"""A stand is offered for a stated time after the last inspection, and only if it passed."""

from collections.abc import Iterator

from scheduling.rules.facts import SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

NOT_INSPECTED = Objection(
    code="stand_not_inspected",
    title="Stand never inspected",
    template="{stand} has no inspection recorded up to {local_date:%a %d %b %Y}.",
)
INSPECTION_FAILED = Objection(
    code="inspection_failed",
    title="Inspection failed",
    template=("{stand} failed its inspection on {failed_on:%d %b %Y} and has passed none since."),
)
INSPECTION_EXPIRED = Objection(
    code="inspection_expired",
    title="Inspection too old",
    template=(
        "{stand} was last inspected on {inspected_on:%d %b %Y}, {age_days} days before "
        "{local_date:%a %d %b %Y}; this stand needs an inspection every {interval_days} days."
    ),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    stand = facts.stand(proposal.stand_id)
    local_date, inspected_on = proposal.local_date, stand.inspected_on
    failed_on = stand.failed_inspection_on
    if failed_on is not None and (inspected_on is None or failed_on >= inspected_on):
        yield INSPECTION_FAILED.refuse(stand=stand.name, failed_on=failed_on)
        return
    if inspected_on is None or inspected_on > local_date:
        yield NOT_INSPECTED.refuse(stand=stand.name, local_date=local_date)
        return
    age_days = (local_date - inspected_on).days
    if age_days > limits.house.inspection_interval_days:
        yield INSPECTION_EXPIRED.refuse(
            stand=stand.name,
            inspected_on=inspected_on,
            age_days=age_days,
            local_date=local_date,
            interval_days=limits.house.inspection_interval_days,
        )


RULE = Rule(
    title="The stand has been inspected",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.STAND,
    objections=(NOT_INSPECTED, INSPECTION_FAILED, INSPECTION_EXPIRED),
    settings=("house_rules/inspection_interval_days",),
    judge=judge,
)
