"""Judging a booking, and a candidate seat of a plan, by the one catalogue of house rules."""

from collections.abc import Callable, Collection, Iterable
from datetime import date

from properties.sessions.kinds import SessionKey
from scheduling.rules.catalogue import BOOKING_RULES, CANDIDATE_RULES
from scheduling.rules.facts import SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import LooksAt, Rule
from scheduling.rules.snapshot import BookingFacts

STAND_RULES = tuple(rule for rule in CANDIDATE_RULES if rule.looks_at is LooksAt.STAND)
# None of these has a setting, for what they find is kept for every stand of a property.
MEMBER_RULES = tuple(rule for rule in CANDIDATE_RULES if rule.looks_at is LooksAt.MEMBER)

_JUDGING = tuple((rule.judge, rule.one_for_property) for rule in BOOKING_RULES if rule.judge)

_StandKey = tuple[str, tuple[SessionKey, ...], str | None]
_PeopleKey = tuple[tuple[str, ...], str, date, str | None]
_PropertyKey = tuple[tuple[str, ...], str, tuple[SessionKey, ...], str | None, int]


def refusals(proposal: SitProposal, *, facts: BookingFacts, limits: Limits) -> tuple[Refusal, ...]:
    """Every objection to the proposal at once, in the catalogue's order; empty: allowed.

    ``limits`` are those of the proposed stand. Raises ``KeyError`` for a person or stand
    that the snapshot does not hold.
    """
    return _judged(BOOKING_RULES, proposal, facts, limits)


def candidate_refusals(
    proposal: SitProposal, *, facts: BookingFacts, limits: Limits
) -> tuple[Refusal, ...]:
    """Every objection that holds whoever else sits: what keeps a seat out of a plan.

    The rules that count sits are left to the plan's rows, and those that judge bookings
    alone are left out.
    """
    return _judged(CANDIDATE_RULES, proposal, facts, limits)


def left_standing(found: Iterable[Refusal], *, overruled: Collection[str]) -> tuple[Refusal, ...]:
    """What still objects after a manager overruled the codes given.

    A code that touches safety or access stays, whoever names it. Overruling belongs to
    booking alone: a plan is built without it.
    """
    return tuple(
        refusal for refusal in found if not (refusal.overrulable and refusal.code in overruled)
    )


def stand_refusals(
    *,
    stand_id: str,
    session: SessionKey,
    facts: BookingFacts,
    limits: Limits,
    weapon: str | None = None,
) -> tuple[Refusal, ...]:
    """Why a stand is offered to nobody in a session; empty: it is offered."""
    whoever = SitProposal(member_id="", stand_id=stand_id, sessions=(session,), weapon=weapon)
    return _judged(STAND_RULES, whoever, facts, limits)


class BookingFilter:
    """:func:`refusals` for very many proposals of one snapshot.

    What looks at no more of a stand than its property is judged once for each party, property,
    sessions, weapon and limits. ``limits_of`` gives a stand's limits.
    """

    def __init__(self, *, facts: BookingFacts, limits_of: Callable[[str], Limits]) -> None:
        self._facts = facts
        self._limits_of = limits_of
        self._alike: list[Limits] = []
        self._number_of: dict[int, int] = {}
        self._of_property: dict[_PropertyKey, tuple[tuple[Refusal, ...], ...]] = {}

    def refusals(self, proposal: SitProposal) -> tuple[Refusal, ...]:
        """Raises ``KeyError`` as :func:`refusals` does."""
        facts, limits = self._facts, self._limits_of(proposal.stand_id)
        shared = self._judged_for_property(proposal, limits)
        found: list[Refusal] = []
        for (judge, one_for_property), known in zip(_JUDGING, shared, strict=True):
            found += known if one_for_property else judge(proposal, facts, limits)
        return tuple(found)

    def _judged_for_property(
        self, proposal: SitProposal, limits: Limits
    ) -> tuple[tuple[Refusal, ...], ...]:
        """What each rule finds; nothing from a rule that looks at the stand itself."""
        property_id = self._facts.stand(proposal.stand_id).property_id
        party = (proposal.member_id, *proposal.guest_ids)
        key = (party, property_id, proposal.sessions, proposal.weapon, self._number(limits))
        found = self._of_property.get(key)
        if found is None:
            found = self._of_property[key] = tuple(
                tuple(judge(proposal, self._facts, limits)) if one_for_property else ()
                for judge, one_for_property in _JUDGING
            )
        return found

    def _number(self, limits: Limits) -> int:
        """The same for limits that are equal; what was met is kept, so no id is used again."""
        number = self._number_of.get(id(limits))
        if number is None:
            self._alike.append(limits)
            number = self._number_of[id(limits)] = self._alike.index(limits)
        return number


class CandidateFilter:
    """:func:`candidate_refusals` for very many seats of one snapshot.

    What concerns the stand is judged once for each stand, session and weapon; what
    concerns the people once for each property, day and weapon. ``limits_of`` gives a stand's
    limits.
    """

    def __init__(self, *, facts: BookingFacts, limits_of: Callable[[str], Limits]) -> None:
        self._facts = facts
        self._limits_of = limits_of
        self._of_stand: dict[_StandKey, tuple[Refusal, ...]] = {}
        self._of_people: dict[_PeopleKey, tuple[Refusal, ...]] = {}

    def refusals(self, proposal: SitProposal) -> tuple[Refusal, ...]:
        return self.people_refusals(proposal) + self.stand_refusals(proposal)

    def stand_refusals(self, proposal: SitProposal) -> tuple[Refusal, ...]:
        key = (proposal.stand_id, proposal.sessions, proposal.weapon)
        if key not in self._of_stand:
            limits = self._limits_of(proposal.stand_id)
            self._of_stand[key] = _judged(STAND_RULES, proposal, self._facts, limits)
        return self._of_stand[key]

    def people_refusals(self, proposal: SitProposal) -> tuple[Refusal, ...]:
        property_id = self._facts.stand(proposal.stand_id).property_id
        key = (proposal.people, property_id, proposal.local_date, proposal.weapon)
        if key not in self._of_people:
            limits = self._limits_of(proposal.stand_id)
            self._of_people[key] = _judged(MEMBER_RULES, proposal, self._facts, limits)
        return self._of_people[key]


def _judged(
    rules: Iterable[Rule], proposal: SitProposal, facts: BookingFacts, limits: Limits
) -> tuple[Refusal, ...]:
    return tuple(
        refusal
        for rule in rules
        if rule.judge is not None
        for refusal in rule.judge(proposal, facts, limits)
    )
