"""Whoever hunts is of those that the lease permits: members, guests, outfitters' clients."""

from collections.abc import Iterator

from scheduling.rules.facts import MemberFacts, SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

CLIENT = "client"
NOT_IN_LEASE = Objection(
    code="people_not_in_lease",
    title="The lease does not let these people hunt",
    template=(
        "On {local_date:%a %d %b %Y} the lease of {property} lets {people} hunt there and no "
        "{person_kind}: {person}."
    ),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    place = facts.property_of(facts.stand(proposal.stand_id))
    lease = place.lease_on(proposal.local_date)
    if lease is None:
        return
    for person_id in proposal.people:
        person = facts.member(person_id)
        kind = "guests" if person_id != proposal.member_id else _kind_of(person, place.property_id)
        if kind not in lease.people:
            yield NOT_IN_LEASE.refuse(
                local_date=proposal.local_date,
                property=place.name,
                people=" and ".join(sorted(lease.people)) or "nobody",
                person_kind=kind,
                person=person.name,
            )


def _kind_of(person: MemberFacts, property_id: str) -> str:
    """A client is somebody whom only an outfitter's share lets sit there."""
    held = {role.role for role in person.roles if role.property_id == property_id}
    return "clients" if held == {CLIENT} else "members"


RULE = Rule(
    title="The lease permits the people",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.MEMBER,
    one_for_property=True,
    objections=(NOT_IN_LEASE,),
    settings=(),
    judge=judge,
)
