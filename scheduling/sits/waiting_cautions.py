"""What would refuse somebody who waits although others give way: told, so that they can choose.

The wind may turn and a stand be opened again, so nobody is kept off the list for it.
"""

from collections import Counter
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from properties.land.units import UnitSystem
from properties.stands.models import Stand
from scheduling.rules.catalogue import in_units
from scheduling.rules.refusal import Refusal
from scheduling.sits.facts_queries import SitFacts, sit_facts
from scheduling.sits.models import SitState
from scheduling.sits.seat_judgement import Party, judgements
from scheduling.sits.uses_queries import neighbours_of_sits, sessions_of_sit, sessions_of_span
from scheduling.sits.waiting_models import WaitingEntry


@dataclass(frozen=True, kw_only=True)
class Caution:
    """One rule that objects to a stand, as a booking of it would be told."""

    stand: Stand
    refusal: Refusal


def cautions_of(entry: WaitingEntry, *, units: UnitSystem, now: datetime) -> list[Caution]:
    """Each objection that stays where everybody else gives way, by stand, told in ``units``.

    Empty where one of the stands waited for has none: a seat given up there would be theirs. The
    entry comes with its stand, its person and its property, whose cooperative is read with it.
    """
    land = entry.property
    facts = sit_facts(
        lands=[land],
        first_on=entry.local_date,
        last_on=entry.local_date,
        person_ids=[entry.person_id],
        seats_held_not_for=[entry.person_id],
        now=now,
    )
    judged = judgements(
        _waited_for(entry),
        sessions_of_span(entry.local_date, entry.span),
        party=Party(person=entry.person),
        weapon=entry.weapon,
        land=land,
        facts=as_if_others_gave_way(facts, person_id=entry.person_id),
    )
    if not all(each.objections for each in judged):
        return []
    return [
        Caution(stand=each.stand, refusal=in_units(refusal, units))
        for each in judged
        for refusal in each.objections
    ]


def _waited_for(entry: WaitingEntry) -> list[Stand]:
    """The stand named, also one retired since, else all in use: where none is, all there were."""
    if entry.stand is not None:
        return [entry.stand]
    stands = list(Stand.objects.filter(property=entry.property_id).order_by("id"))
    return [stand for stand in stands if stand.retired_at is None] or stands


def as_if_others_gave_way(facts: SitFacts, *, person_id: UUID) -> SitFacts:
    """The same snapshot without the booked sits of others and without seats that are held.

    Who is out, or was, gives nothing up any more, so those sits go on counting.
    """
    staying = [
        sit
        for sit in facts.sits
        if sit.state != SitState.BOOKED or person_id in (sit.person_id, sit.host_id)
    ]
    hunters = Counter(
        (str(sit.stand_id), session) for sit in staying for session in sessions_of_sit(sit)
    )
    asked = {there.session for there in facts.booking.sessions}
    return replace(
        facts,
        sits=staying,
        held=(),
        booking=replace(
            facts.booking,
            uses=tuple(
                replace(use, hunters=hunters[use.stand_id, use.session])
                for use in facts.booking.uses
                if (use.stand_id, use.session) in hunters
            ),
            neighbours=tuple(
                other for other in neighbours_of_sits(staying) if other.session in asked
            ),
        ),
    )
