"""Wait for a seat, leave the list, confirm a seat that was held."""

from collections.abc import Iterable
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.db.models import QuerySet

from coop.access.actors import Actor, system_actor
from coop.access.roles import Action
from coop.api.problems import WrongOrder
from coop.audit import writing
from properties.land.models import Closure, Property
from properties.land.property_jobs import queue_for
from properties.people.models import Person
from properties.people.queries import units_of
from properties.stands.models import Stand
from scheduling.sits import waiting_notices
from scheduling.sits.booking_services import book_sit
from scheduling.sits.closed_ground import stands_on
from scheduling.sits.facts_queries import sit_facts
from scheduling.sits.models import Sit, SitSpan
from scheduling.sits.people_queries import may_sit_on
from scheduling.sits.seat_judgement import Party, judgements, lock_seat
from scheduling.sits.uses_queries import sessions_of_span
from scheduling.sits.waiting_models import OPEN_STATES, WaitingEntry, WaitingState
from scheduling.sits.waiting_worth import check_worth_waiting

WORK_WAITING_LIST = "sits.work_waiting_list"
TAKES_BACK = "closed ground"


@transaction.atomic
def wait_for_seat(
    *,
    actor: Actor,
    land: Property,
    stand: Stand | None,
    local_date: date,
    span: str,
    now: datetime,
    person: Person | None = None,
    weapon: str = "",
) -> WaitingEntry:
    """Ask for a seat of a stand, or of any stand, of a session in which none is open to them.

    A manager may ask for somebody else. Raises :class:`WrongOrder` where a seat can be booked
    now, :class:`Refused` where waiting would not help, ``ValidationError`` by field.
    """
    actor.require(Action.REQUEST_WRITE, land.id)
    if person is None and actor.person_id is not None:
        person = Person.objects.get(id=actor.person_id)
    if person is None:
        raise ValidationError({"person": "Name the person who would sit."})
    if person.id != actor.person_id:
        actor.require(Action.SIT_MANAGE, land.id)
    if person.host_id is not None or not may_sit_on(person.id, land):
        raise ValidationError({"person": f"{person.name} has no role that lets them sit there."})
    facts = sit_facts(
        lands=[land],
        first_on=local_date,
        last_on=local_date,
        person_ids=[person.id],
        now=now,
    )
    judged = judgements(
        _stands(land, stand),
        sessions_of_span(local_date, span),
        party=Party(person=person),
        weapon=weapon,
        land=land,
        facts=facts,
    )
    check_worth_waiting(judged, units=units_of(actor))
    waits = WaitingEntry.objects.filter(person=person, property=land, local_date=local_date)
    if waits.filter(span=span, state__in=OPEN_STATES).exists():
        raise WrongOrder("You are on the waiting list of that session already.")
    entry = WaitingEntry(
        property=land,
        person=person,
        stand=stand,
        local_date=local_date,
        span=span,
        starts_at=judged[0].window().approach_from,
        weapon=weapon,
        asked_at=now,
    )
    return writing.create(
        entry, actor=actor, action=Action.REQUEST_WRITE, now=now, property_id=land.id
    )


@transaction.atomic
def leave_list(*, actor: Actor, entry: WaitingEntry, now: datetime) -> WaitingEntry:
    """Wait no longer, or decline a held seat, which then goes to the next. Twice changes nothing.

    Raises :class:`WrongOrder` once a seat was booked.
    """
    _require_own(actor, entry)
    entry = locked_entry(entry)
    if entry.state == WaitingState.BOOKED:
        raise WrongOrder("A seat was booked for you already; cancel the sit.")
    if entry.state in (WaitingState.LEFT, WaitingState.ENDED):
        return entry
    held_one = entry.state == WaitingState.OFFERED
    change_entry(actor, entry, {"state": WaitingState.LEFT, "ended_at": now}, now)
    if held_one:
        queue_work(entry.property, now)
    return entry


def confirm_seat(*, actor: Actor, entry: WaitingEntry, now: datetime) -> Sit:
    """Book the seat that is held, judged by all rules as any booking.

    Raises :class:`Refused`, :class:`SeatTaken`, :class:`WrongOrder`, ``PermissionDenied``.
    """
    _require_own(actor, entry)
    with transaction.atomic():
        entry = WaitingEntry.objects.select_related("offered_stand", "person").get(id=entry.id)
        if entry.offered_stand is None:
            raise WrongOrder("No seat is held for you.")
        # The seat's locks first, as whoever works the list takes them.
        lock_seat(entry.offered_stand, [entry.person])
        entry = locked_entry(entry)
        if entry.state != WaitingState.OFFERED:
            raise WrongOrder("No seat is held for you any more.")
        assert entry.answer_by is not None
        assert entry.offered_stand is not None
        if now >= entry.answer_by:
            local = entry.answer_by.astimezone(ZoneInfo(entry.property.time_zone))
            raise WrongOrder(f"It was held for you until {local:%H:%M %Z}.")
        sit = book_sit(
            actor=actor,
            stand=entry.offered_stand,
            local_date=entry.local_date,
            span=entry.span,
            person=entry.person,
            weapon=entry.weapon,
            now=now,
        )
        changes = {"state": WaitingState.BOOKED, "sit": sit, "ended_at": now}
        change_entry(actor, entry, changes, now)
        return sit


def held_on(closure: Closure) -> QuerySet[WaitingEntry]:
    """Seats that are held on closed ground in the closed sessions."""
    held = _held_at(stands_on(closure)).filter(
        local_date__range=(closure.first_on, closure.last_on)
    )
    if closure.session_kind:
        held = held.filter(span__in=[closure.session_kind, SitSpan.ALL_DAY])
    return held


def held_at(stand: Stand) -> QuerySet[WaitingEntry]:
    """Seats of a stand that are held, in any session."""
    return _held_at([stand])


def take_back_seats(held: QuerySet[WaitingEntry], *, reason: str, now: datetime) -> None:
    """Seats where nobody may sit now are held no more; whoever waited goes on waiting.

    Inside the caller's transaction.
    """
    for entry in held.order_by("id"):
        entry = locked_entry(entry)
        if entry.state != WaitingState.OFFERED:
            continue
        waiting_notices.tell_of_taken_back(entry, reason=reason, now=now)
        changes: dict[str, object] = {
            "state": WaitingState.WAITING,
            "offered_stand": None,
            "answer_by": None,
        }
        change_entry(system_actor(TAKES_BACK), entry, changes, now)


def queue_work(land: Property, now: datetime) -> None:
    """Have the list of a property worked soon; many causes, one run."""
    queue_for(land.id, name=WORK_WAITING_LIST, now=now)


def locked_entry(entry: WaitingEntry) -> WaitingEntry:
    """The row with what is shown of it, locked; inside the caller's transaction."""
    WaitingEntry.objects.select_for_update().get(id=entry.id)
    return WaitingEntry.objects.select_related(
        "person", "stand", "offered_stand", "property__cooperative"
    ).get(id=entry.id)


def change_entry(
    actor: Actor, entry: WaitingEntry, changes: dict[str, object], now: datetime
) -> None:
    """Write and record a change of a locked entry."""
    writing.change(
        entry,
        changes,
        actor=actor,
        action=Action.REQUEST_WRITE,
        now=now,
        property_id=entry.property_id,
        reason=str(changes.get("outcome", "")),
    )


def _held_at(stands: Iterable[Stand]) -> QuerySet[WaitingEntry]:
    return WaitingEntry.objects.filter(
        state=WaitingState.OFFERED, offered_stand__in=[stand.id for stand in stands]
    )


def _require_own(actor: Actor, entry: WaitingEntry) -> None:
    if actor.person_id is None:
        raise PermissionDenied("the waiting list is of persons")
    if actor.person_id != entry.person_id:
        actor.require(Action.SIT_MANAGE, entry.property_id)


def _stands(land: Property, stand: Stand | None) -> list[Stand]:
    """The stand named, or all that are in use. Raises ``ValidationError`` where there is none."""
    if stand is None:
        stands = list(Stand.objects.filter(property=land, retired_at=None).order_by("id"))
        if not stands:
            raise ValidationError({"property": "It has no stand."})
        return stands
    if stand.property_id != land.id or stand.retired_at is not None:
        raise ValidationError({"stand": "Is no stand in use on this property."})
    return [stand]
