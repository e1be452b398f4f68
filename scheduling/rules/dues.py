"""Where a property asks for it, dues past their date are paid before anybody sits.

The sentence names no amount, date or year: a manager may read it, and learns only that
somebody is not clear.
"""

from collections.abc import Iterator
from datetime import date

from scheduling.rules.facts import MemberFacts, SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

DUES_OPEN = Objection(
    code="dues_open",
    title="Not clear of dues",
    template="{person} is not clear of dues, and {property} asks for that; ask the coordinator.",
    overrulable=True,
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    place = facts.property_of(facts.stand(proposal.stand_id))
    member = facts.member(proposal.member_id)
    if place.dues_needed and not is_clear(member, proposal.local_date):
        yield DUES_OPEN.refuse(person=member.name, property=place.name)


def is_clear(member: MemberFacts, day: date) -> bool:
    """Whether nothing that was due before ``day`` is unpaid."""
    return all(due_on >= day for due_on in member.open_dues)


RULE = Rule(
    title="Dues are paid",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.MEMBER,
    one_for_property=True,
    objections=(DUES_OPEN,),
    settings=(),
    judge=judge,
)
