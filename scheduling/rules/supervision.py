"""A young hunter sits with an adult who supervises them: one stand, two seats, one weapon.

Who counts as young, and until when, is entered for each person: no age of any law is
built in.
"""

from collections.abc import Iterator
from datetime import date

from scheduling.rules.facts import MemberFacts, SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

ALONE = Objection(
    code="youth_alone",
    title="A young hunter sits with an adult",
    template=(
        "On {local_date:%a %d %b %Y} {person} sits with an adult who supervises them, in the "
        "same stand: the adult books, and names them along."
    ),
)
TOO_MANY = Objection(
    code="youths_for_adults",
    title="Too many young hunters for the adults",
    template=(
        "{youths} young hunters would sit with {adults} adults; on {property} one adult "
        "supervises {allowed}."
    ),
)
WITHOUT_PAPERS = Objection(
    code="supervisor_paper_missing",
    title="The supervising adult lacks a paper",
    template=(
        "{person} would supervise a young hunter on {local_date:%a %d %b %Y}; {property} asks "
        "whoever does for the paper '{paper}', valid that day."
    ),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    day = proposal.local_date
    people = [facts.member(person) for person in proposal.people]
    youths = [one for one in people if one.is_youth_on(day)]
    if not youths:
        return
    place = facts.property_of(facts.stand(proposal.stand_id))
    supervisor = facts.member(proposal.member_id)
    if supervisor.is_youth_on(day):
        yield ALONE.refuse(person=supervisor.name, local_date=day)
        return
    adults = len(people) - len(youths)
    if len(youths) > adults * place.youths_an_adult:
        yield TOO_MANY.refuse(
            youths=len(youths),
            adults=adults,
            property=place.name,
            allowed=place.youths_an_adult,
        )
    for kind in sorted(place.supervising_papers):
        if not _holds(supervisor, kind, day):
            yield WITHOUT_PAPERS.refuse(
                person=supervisor.name, local_date=day, property=place.name, paper=kind
            )


def _holds(person: MemberFacts, kind: str, day: date) -> bool:
    return any(
        paper.kind == kind
        and (paper.valid_from is None or paper.valid_from <= day)
        and (paper.valid_until is None or day <= paper.valid_until)
        for paper in person.papers
    )


RULE = Rule(
    title="Young hunters are supervised",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.MEMBER,
    one_for_property=True,
    objections=(ALONE, TOO_MANY, WITHOUT_PAPERS),
    settings=(),
    judge=judge,
)
