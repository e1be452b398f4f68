"""Everyone on the stand holds the papers that the property asks for, valid on that day."""

from collections.abc import Collection, Iterator
from datetime import date

from scheduling.rules.facts import MemberFacts, PaperFacts, SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

MISSING = Objection(
    code="paper_missing",
    title="Paper missing",
    template="{property} asks for the paper '{paper}'; none is recorded for {person}.",
)
EXPIRED = Objection(
    code="paper_expired",
    title="Paper expired",
    template=(
        "The paper '{paper}' of {person} is valid until {valid_until:%d %b %Y}, "
        "before {local_date:%a %d %b %Y}; {property} asks for it."
    ),
)
NOT_YET_VALID = Objection(
    code="paper_not_yet_valid",
    title="Paper not yet valid",
    template=(
        "The paper '{paper}' of {person} is valid from {valid_from:%d %b %Y}, "
        "after {local_date:%a %d %b %Y}; {property} asks for it."
    ),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    place = facts.property_of(facts.stand(proposal.stand_id))
    for person_id in proposal.people:
        is_guest = person_id != proposal.member_id
        required = place.required_guest_papers if is_guest else place.required_papers
        person = facts.member(person_id)
        yield from objections_to(person, required, proposal.local_date, place.name)


def objections_to(
    person: MemberFacts, required: Collection[str], day: date, property_name: str
) -> Iterator[Refusal]:
    """What is wrong with a person's papers on a day, for those asked for."""
    for kind in sorted(required):
        refusal = _objection_to(person, kind, day, property_name)
        if refusal is not None:
            yield refusal


def _objection_to(person: MemberFacts, kind: str, day: date, property_name: str) -> Refusal | None:
    held = [paper for paper in person.papers if paper.kind == kind]
    named = {"property": property_name, "paper": kind, "person": person.name}
    if not held:
        return MISSING.refuse(**named)
    if any(_is_valid(paper, day) for paper in held):
        return None
    ended = [paper.valid_until for paper in held if paper.valid_until and paper.valid_until < day]
    if ended:
        return EXPIRED.refuse(**named, valid_until=max(ended), local_date=day)
    begins = [paper.valid_from for paper in held if paper.valid_from]
    return NOT_YET_VALID.refuse(**named, valid_from=min(begins), local_date=day)


def _is_valid(paper: PaperFacts, day: date) -> bool:
    has_begun = paper.valid_from is None or paper.valid_from <= day
    return has_begun and (paper.valid_until is None or day <= paper.valid_until)


RULE = Rule(
    title="Papers are valid",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.MEMBER,
    one_for_property=True,
    objections=(MISSING, EXPIRED, NOT_YET_VALID),
    settings=(),
    judge=judge,
)
