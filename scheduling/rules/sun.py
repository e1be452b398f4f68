"""A session exists where the sun rises and sets; elsewhere there is nothing to sit."""

from collections.abc import Iterator

from scheduling.rules.facts import SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule, when
from scheduling.rules.snapshot import BookingFacts

NO_SESSION = Objection(
    code="no_session",
    title="No such session",
    template=(
        "{property} has no {session} session on {local_date:%a %d %b %Y}: "
        "the sun does not both rise and set there that day."
    ),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    place = facts.property_of(facts.stand(proposal.stand_id))
    for session in proposal.sessions:
        if facts.session(place.property_id, session) is None:
            yield NO_SESSION.refuse(property=place.name, **when(session))


RULE = Rule(
    title="The sun gives the session",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.STAND,
    one_for_property=True,
    objections=(NO_SESSION,),
    settings=(),
    judge=judge,
)
