"""A member sits where a role on the property lets them."""

from collections.abc import Iterator
from datetime import date

from scheduling.rules.facts import RoleFacts, SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

NO_ROLE = Objection(
    code="no_role_here",
    title="No role on this property",
    template=(
        "{person} has no role on {property} that allows sitting there on {local_date:%a %d %b %Y}."
    ),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    place = facts.property_of(facts.stand(proposal.stand_id))
    member = facts.member(proposal.member_id)
    if any(_holds(role, place.property_id, proposal.local_date) for role in member.roles):
        return
    yield NO_ROLE.refuse(person=member.name, property=place.name, local_date=proposal.local_date)


def _holds(role: RoleFacts, property_id: str, day: date) -> bool:
    if role.property_id != property_id:
        return False
    return (role.since is None or role.since <= day) and (role.until is None or day <= role.until)


RULE = Rule(
    title="The member has a role here",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.MEMBER,
    one_for_property=True,
    objections=(NO_ROLE,),
    settings=(),
    judge=judge,
)
