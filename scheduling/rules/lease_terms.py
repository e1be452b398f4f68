"""A session lies in the term of a lease, with a weapon that the lease permits.

A property for which no lease is entered is left as it is.
"""

from collections.abc import Iterator

from scheduling.rules.facts import LeaseFacts, SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

OUTSIDE_LEASE = Objection(
    code="outside_lease",
    title="Outside the terms of the leases",
    template=(
        "{local_date:%a %d %b %Y} lies outside the leases entered for {property} ({terms}); ask "
        "your manager."
    ),
)
WEAPON_NOT_IN_LEASE = Objection(
    code="weapon_not_in_lease",
    title="The lease does not permit this weapon",
    template=(
        "On {local_date:%a %d %b %Y} the lease of {property} permits {weapons} and not {weapon}."
    ),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    place = facts.property_of(facts.stand(proposal.stand_id))
    if not place.leases:
        return
    day = proposal.local_date
    lease = place.lease_on(day)
    if lease is None:
        yield OUTSIDE_LEASE.refuse(local_date=day, property=place.name, terms=_shown(place.leases))
        return
    weapon = proposal.weapon
    if weapon is not None and lease.weapons is not None and weapon not in lease.weapons:
        yield WEAPON_NOT_IN_LEASE.refuse(
            local_date=day,
            property=place.name,
            weapons=", ".join(sorted(lease.weapons)) or "no weapon",
            weapon=str(weapon),
        )


def _shown(leases: tuple[LeaseFacts, ...]) -> str:
    ordered = sorted(leases, key=lambda lease: lease.first_date)
    return ", ".join(
        f"{lease.first_date:%d %b %Y} to {lease.last_date:%d %b %Y}" for lease in ordered
    )


RULE = Rule(
    title="Under a lease, with a weapon it permits",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.STAND,
    one_for_property=True,
    objections=(OUTSIDE_LEASE, WEAPON_NOT_IN_LEASE),
    settings=(),
    judge=judge,
)
