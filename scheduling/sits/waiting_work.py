"""Work the waiting list: give freed seats to whoever is next, by all rules, and tell them.

One property and date is one transaction, under the locks of a booking for all its stands and
for all who wait, so that no freed seat passes anybody by. A run that dies leaves whole days;
the next goes on from the rows, and running it twice gives nothing twice.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction

from coop.access.actors import Actor
from coop.api.problems import Problem
from properties.land.models import Property
from properties.people.models import Person
from properties.stands.models import Stand
from scheduling.sits import waiting_notices
from scheduling.sits.booking_services import book_sit
from scheduling.sits.facts_queries import SitFacts, sit_facts
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.seat_judgement import Party, judgements
from scheduling.sits.uses_queries import sessions_of_span
from scheduling.sits.waiting_models import OPEN_STATES, WaitingEntry, WaitingState
from scheduling.sits.waiting_queries import in_order
from scheduling.sits.waiting_services import change_entry, queue_work


@dataclass(frozen=True, kw_only=True)
class Worked:
    """The reconciliation of a run: open entries looked at, and what became of them."""

    looked_at: int = 0
    booked: int = 0
    offered: int = 0
    ended: int = 0

    @property
    def still_waiting(self) -> int:
        return self.looked_at - self.booked - self.offered - self.ended

    def __add__(self, other: "Worked") -> "Worked":
        return Worked(
            looked_at=self.looked_at + other.looked_at,
            booked=self.booked + other.booked,
            offered=self.offered + other.offered,
            ended=self.ended + other.ended,
        )


def seat_may_be_free(ids: Mapping[str, str], now: datetime) -> None:
    """A fact after which somebody who waits on its property may get a seat."""
    land = Property.objects.get(id=UUID(ids["property"]))
    if WaitingEntry.objects.filter(property=land, state__in=OPEN_STATES).exists():
        queue_work(land, now)


def work_waiting_list(*, property_id: UUID, actor: Actor, now: datetime) -> Worked:
    """Every date of a property for which somebody waits, the earliest first."""
    waiting = WaitingEntry.objects.filter(property=property_id, state__in=OPEN_STATES)
    days = waiting.order_by("local_date").values_list("local_date", flat=True).distinct()
    return sum((_work_day(property_id, day, actor, now) for day in list(days)), Worked())


@transaction.atomic
def _work_day(property_id: UUID, day: date, actor: Actor, now: datetime) -> Worked:
    land = (
        Property.objects.select_for_update(of=("self",), no_key=True)
        .select_related("cooperative")
        .get(id=property_id)
    )
    stands = list(
        Stand.objects.select_for_update(no_key=True)
        .filter(property=land, retired_at=None)
        .order_by("id")
    )
    entries = _locked_entries(land, day)
    ended = [entry for entry in entries if _end_if_over(entry, actor, now)]
    waiting = [entry for entry in entries if entry.state == WaitingState.WAITING]
    served = _serve(land, day, stands, waiting, actor, now)
    return Worked(
        looked_at=len(entries),
        booked=sum(entry.state == WaitingState.BOOKED for entry in served),
        offered=sum(entry.state == WaitingState.OFFERED for entry in served),
        ended=len(ended),
    )


def _locked_entries(land: Property, day: date) -> list[WaitingEntry]:
    """The open entries, locked after their persons, as a booking would lock those."""
    rows = WaitingEntry.objects.filter(property=land, local_date=day, state__in=OPEN_STATES)
    persons = set(rows.values_list("person_id", flat=True))
    list(
        Person.objects.select_for_update(no_key=True)
        .filter(id__in=persons)
        .order_by("id")
        .values_list("id")
    )
    ids = [entry.id for entry in rows.select_for_update(of=("self",)).order_by("id")]
    locked = (
        WaitingEntry.objects.filter(id__in=ids)
        .select_related("person", "stand", "offered_stand", "property")
        .order_by("id")
    )
    # Whoever asked since then is not locked, and has a run of their own to come.
    return [entry for entry in locked if entry.person_id in persons]


def _end_if_over(entry: WaitingEntry, actor: Actor, now: datetime) -> bool:
    if entry.person.retired_at is not None or now >= entry.starts_at:
        outcome = "The session began."
    elif entry.answer_by is not None and entry.answer_by <= now:
        outcome = "The held seat was not confirmed in time."
        waiting_notices.tell_of_missed_offer(entry, now=now)
    else:
        return False
    changes = {"state": WaitingState.ENDED, "ended_at": now, "outcome": outcome}
    change_entry(actor, entry, changes, now)
    return True


def _serve(
    land: Property,
    day: date,
    stands: Sequence[Stand],
    waiting: Sequence[WaitingEntry],
    actor: Actor,
    now: datetime,
) -> list[WaitingEntry]:
    """Those who got a seat; each is judged with what those before them got."""
    served: list[WaitingEntry] = []
    facts = None
    for entry in in_order(land, waiting):
        facts = facts or _facts(land, day, waiting, now)
        stand = _open_stand(entry, stands, facts, land)
        if stand is not None and _give(entry, stand, facts, actor, now):
            served.append(entry)
            facts = None
    return served


def _facts(land: Property, day: date, waiting: Sequence[WaitingEntry], now: datetime) -> SitFacts:
    persons = {entry.person_id for entry in waiting}
    return sit_facts(lands=[land], first_on=day, last_on=day, person_ids=persons, now=now)


def _open_stand(
    entry: WaitingEntry, stands: Sequence[Stand], facts: SitFacts, land: Property
) -> Stand | None:
    """The stand with the best fit to which nothing objects; None where there is none."""
    sessions = sessions_of_span(entry.local_date, entry.span)

    def fit_first(stand: Stand) -> tuple[float, str]:
        row = facts.fits.get((stand.id, sessions[0]))
        return (-(row.fit or 0.0) if row else 0.0, stand.name)

    wanted = [stand for stand in stands if entry.stand_id in (None, stand.id)]
    judged = judgements(
        sorted(wanted, key=fit_first),
        sessions,
        party=Party(person=entry.person),
        weapon=entry.weapon,
        land=land,
        facts=facts,
    )
    return next((each.stand for each in judged if not each.objections), None)


def _give(entry: WaitingEntry, stand: Stand, facts: SitFacts, actor: Actor, now: datetime) -> bool:
    settings = sit_settings_of(entry.property)
    if entry.starts_at - now >= timedelta(hours=settings.waiting_books_until_h):
        return _book(entry, stand, actor, now)
    late = timedelta(minutes=facts.limits[str(stand.id)].house.late_booking_minutes)
    answer_by = min(now + timedelta(minutes=settings.waiting_answer_min), entry.starts_at - late)
    if answer_by <= now:
        return False
    changes = {
        "state": WaitingState.OFFERED,
        "offered_stand": stand,
        "answer_by": answer_by,
    }
    change_entry(actor, entry, changes, now)
    waiting_notices.tell_of_offer(entry, now=now)
    return True


def _book(entry: WaitingEntry, stand: Stand, actor: Actor, now: datetime) -> bool:
    try:
        sit = book_sit(
            actor=actor,
            stand=stand,
            local_date=entry.local_date,
            span=entry.span,
            person=entry.person,
            weapon=entry.weapon,
            now=now,
        )
    except Problem:
        # Somebody without these locks was faster; the fact of their cancelling comes round.
        return False
    changes = {"state": WaitingState.BOOKED, "sit": sit, "ended_at": now}
    change_entry(actor, entry, changes, now)
    waiting_notices.tell_of_seat(entry, sit, now=now)
    return True
