"""The week's sits judged again by the house rules, as if each were asked for now."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from uuid import UUID

from coop.reports.week.figures import ConflictAhead, InspectionAhead
from properties.land.units import UnitSystem
from scheduling.errands.models import Errand
from scheduling.rules import booking_window, obligations, planning
from scheduling.rules.catalogue import BOOKING_RULES, in_units
from scheduling.rules.facts import SitProposal
from scheduling.rules.judge import refusals
from scheduling.rules.refusal import Refusal
from scheduling.sits.facts_queries import SitFacts
from scheduling.sits.models import Sit
from scheduling.sits.uses_queries import neighbours_of_sits, sessions_of_sit, uses_of_sits

# How early one books, what one owes and how many one asked for say nothing of a seat taken.
NOT_ASKED_AGAIN = (booking_window.RULE, obligations.RULE, planning.REQUESTED_TOTAL)
RULES_ASKED = tuple(rule for rule in BOOKING_RULES if rule not in NOT_ASKED_AGAIN)
CODES_ASKED = tuple(objection.code for rule in RULES_ASKED for objection in rule.objections)
ERRAND_CODE = "errand_during_sit"


@dataclass(frozen=True, kw_only=True)
class Party:
    """A member, or an outfitter's client, with the guests who sit with them."""

    sit: Sit
    guests: tuple[Sit, ...]

    @property
    def sit_ids(self) -> frozenset[UUID]:
        return frozenset({self.sit.id, *(guest.id for guest in self.guests)})


def parties(sits: Sequence[Sit]) -> list[Party]:
    """Sits with their guests' beside them; a guest whose host has no seat there stands alone."""
    hosts = {(sit.person_id, _place(sit)) for sit in sits}
    alone = [sit for sit in sits if (sit.host_id, _place(sit)) not in hosts]
    return [
        Party(
            sit=sit,
            guests=tuple(
                other
                for other in sits
                if other.host_id == sit.person_id and _place(other) == _place(sit)
            ),
        )
        for sit in alone
    ]


@dataclass(frozen=True, kw_only=True)
class ObjectionAhead:
    sit: Sit
    refusal: Refusal
    was_set_aside: bool


def objections_to_sits(facts: SitFacts, sits: Sequence[Sit]) -> Iterator[ObjectionAhead]:
    """What objects to each sit with all others standing, and whether a manager set it aside.

    Whoever shares a stand joined whoever booked it first, who is judged without them: else each
    would pass as joining the other.
    """
    in_order = sorted(parties(sits), key=lambda party: (party.sit.created_at, party.sit.id))
    for number, party in enumerate(in_order):
        sit = party.sit
        joined = [later for later in in_order[number + 1 :] if _share_a_stand(later.sit, sit)]
        stand_id = str(sit.stand_id)
        proposal = SitProposal(
            member_id=str(sit.person_id),
            stand_id=stand_id,
            sessions=sessions_of_sit(sit),
            guest_ids=tuple(str(guest.person_id) for guest in party.guests),
            weapon=sit.weapon or None,
        )
        others = _without(facts, party.sit_ids.union(*(later.sit_ids for later in joined)))
        for refusal in refusals(proposal, facts=others.booking, limits=facts.limits[stand_id]):
            if refusal.code in CODES_ASKED:
                was_set_aside = bool(sit.overrule_reason) and refusal.overrulable
                yield ObjectionAhead(sit=sit, refusal=refusal, was_set_aside=was_set_aside)


def sit_conflict(objection: ObjectionAhead, units: UnitSystem) -> ConflictAhead:
    sit = objection.sit
    return ConflictAhead(
        on=sit.local_date,
        span=sit.span,
        stand=sit.stand.name,
        person=sit.person.name,
        code=objection.refusal.code,
        sentence=in_units(objection.refusal, units).sentence,
    )


def errand_conflicts(errands: Iterable[Errand], sits: Sequence[Sit]) -> Iterator[ConflictAhead]:
    """Work whose advised hours meet a sit on the property."""
    for errand in errands:
        if errand.go_from is None or errand.go_until is None:
            continue
        for sit in sits:
            if sit.starts_at < errand.go_until and sit.ends_at > errand.go_from:
                yield ConflictAhead(
                    on=sit.local_date,
                    span=sit.span,
                    stand=sit.stand.name,
                    person=sit.person.name,
                    code=ERRAND_CODE,
                    sentence=(
                        "The hours advised for an errand meet this sit: "
                        f"{errand.get_kind_display().lower()}."
                    ),
                )


def inspections_lapsing(
    facts: SitFacts, sits: Sequence[Sit], *, last_on: date
) -> Iterator[InspectionAhead]:
    """Stands in use whose inspection lapses by ``last_on``, has lapsed, or is not on record."""
    for stand in sorted(facts.stands.values(), key=lambda one: one.name):
        if stand.retired_at is not None or not stand.is_open:
            continue
        days = facts.limits[str(stand.id)].house.inspection_interval_days
        inspected_on = stand.last_inspected_on
        lapses = None if inspected_on is None else inspected_on.toordinal() + days + 1
        if lapses is None or lapses <= last_on.toordinal():
            lapses_on = None if lapses is None else date.fromordinal(lapses)
            yield InspectionAhead(
                stand=stand.name,
                lapses_on=lapses_on,
                sits_after=sum(
                    sit.stand_id == stand.id and (lapses_on is None or sit.local_date >= lapses_on)
                    for sit in sits
                ),
            )


def _without(facts: SitFacts, sit_ids: Collection[UUID]) -> SitFacts:
    """The facts as if these sits had not been booked; nothing is read again."""
    others = [sit for sit in facts.sits if sit.id not in sit_ids]
    gone = {str(sit_id) for sit_id in sit_ids}
    days = {session.local_date for _land, session in facts.windows}
    booking = replace(
        facts.booking,
        uses=uses_of_sits(others, fits=facts.fits, limits=facts.limits, settings=facts.settings),
        neighbours=neighbours_of_sits(sit for sit in others if sit.local_date in days),
        members=tuple(
            replace(
                member,
                claims=tuple(claim for claim in member.claims if claim.sit_id not in gone),
            )
            for member in facts.booking.members
        ),
    )
    return replace(facts, booking=booking)


def _share_a_stand(one: Sit, other: Sit) -> bool:
    meet = set(sessions_of_sit(one)) & set(sessions_of_sit(other))
    return one.stand_id == other.stand_id and bool(meet)


def _place(sit: Sit) -> tuple[UUID, date, str]:
    return sit.stand_id, sit.local_date, sit.span
