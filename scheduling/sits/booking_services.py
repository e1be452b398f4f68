"""Book a sit: authorise, lock, load the facts, ask the rules, write."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from itertools import count
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.model_errors import told_within
from coop.audit import writing
from coop.outbox import services as outbox
from properties.people.hosting import companions
from properties.people.models import Person
from properties.people.queries import units_of
from properties.stands.models import Stand
from properties.stands.queries import sees_details
from scheduling.rules.catalogue import objection
from scheduling.rules.judge import left_standing
from scheduling.sits import notices
from scheduling.sits.client_services import keep_client, outfitter_of
from scheduling.sits.harvest_place_services import settle_all
from scheduling.sits.models import SeatClaim, Sit
from scheduling.sits.problems import SeatTaken, refused
from scheduling.sits.seat_judgement import Party, judge_seat, lock_seat
from scheduling.sits.uses_queries import sessions_of_span

SIT_BOOKED = "sit.booked"
OTHERS_ARE_BOOKED_BY_MANAGERS = "Only a manager of the property books for somebody else."
MANAGERS_OVERRULE = "Only a manager of the property sets a house rule aside."


@dataclass(frozen=True, kw_only=True)
class Overrule:
    """What a manager sets aside, by code, and why; safety and access stay."""

    codes: frozenset[str]
    reason: str


def book_sit(
    *,
    actor: Actor,
    stand: Stand,
    local_date: date,
    span: str,
    now: datetime,
    person: Person | None = None,
    guests: Sequence[Person] = (),
    weapon: str = "",
    overrule: Overrule | None = None,
) -> Sit:
    """Take a seat for a member and seats for guests; returns the member's sit.

    A young hunter whom the member supervises is named among the guests. Whoever books for
    another person, or overrules, must manage sits there. Raises :class:`Refused` with every
    objection, :class:`SeatTaken`, ``PermissionDenied``, and ``ValidationError`` by field.
    """
    actor.require(Action.SIT_BOOK, stand.property_id)
    if person is None or person.id != actor.person_id:
        person = _other_person(actor, person, stand)
    if overrule is not None:
        check_overrule(actor, overrule, stand.property_id)
    for guest in companions([guest.id for guest in guests]).values():
        if not guest.comes_with(person.id, on=local_date):
            raise ValidationError({"guests": f"{guest.name} is no guest of {person.name}."})
    party = Party(person=person, guests=tuple(guests))
    with _seat_guarded():
        return _seat(
            actor, stand, local_date, span, party, weapon=weapon, overrule=overrule, now=now
        )


def book_for_client(
    *,
    actor: Actor,
    stand: Stand,
    local_date: date,
    span: str,
    client: Mapping[str, Any],
    now: datetime,
    weapon: str = "",
) -> Sit:
    """Take a seat for a client whom an outfitter's application names.

    ``client`` has ``reference``, name, contact, emergency contact and papers. Raises as
    :func:`book_sit` does; what is refused leaves no client behind.
    """
    actor.require(Action.SIT_BOOK, stand.property_id)
    outfitter = outfitter_of(actor)
    with _seat_guarded():
        with told_within("client"):
            kept = keep_client(actor=actor, outfitter=outfitter, fields=client, now=now)
        party = Party(person=kept.person, outfitter=outfitter)
        return _seat(actor, stand, local_date, span, party, weapon=weapon, overrule=None, now=now)


@contextmanager
def _seat_guarded() -> Iterator[None]:
    """A transaction in which the claims' constraints are the last guard against two in a seat."""
    try:
        with transaction.atomic():
            yield
    except IntegrityError as error:
        raise SeatTaken("That seat was taken a moment ago; look at the offers again.") from error


def _seat(
    actor: Actor,
    stand: Stand,
    local_date: date,
    span: str,
    party: Party,
    *,
    weapon: str,
    overrule: Overrule | None,
    now: datetime,
) -> Sit:
    land = lock_seat(stand, party.everybody)
    judged = judge_seat(
        land=land,
        stand=stand,
        local_date=local_date,
        span=span,
        party=party,
        weapon=weapon,
        now=now,
    )
    standing = left_standing(judged.objections, overruled=overrule.codes if overrule else ())
    if standing:
        raise refused(
            standing,
            names_places=sees_details(actor=actor, property_id=land.id),
            units=units_of(actor),
        )
    window, known = judged.window(), judged.known_now()
    people = judged.facts.booking
    supervises = any(people.member(str(guest.id)).is_youth_on(local_date) for guest in party.guests)
    sits = [
        Sit(
            property=land,
            stand=stand,
            person=person,
            host=party.person if person in party.guests else None,
            outfitter=party.outfitter,
            local_date=local_date,
            span=span,
            starts_at=window.approach_from,
            ends_at=window.exit_until,
            weapon=weapon,
            is_supervising=supervises and person is party.person,
            overrule_reason=overrule.reason if overrule else "",
            **known,
        )
        for person in party.everybody
    ]
    for sit in sits:
        place_sit(actor=actor, sit=sit, now=now)
    settle_all([land.id], now=now)
    if not actor.is_system and actor.person_id not in (None, party.person.id):
        notices.tell_of_booked_by_other(sits[0], by=actor.name, now=now)
    return sits[0]


def place_sit(*, actor: Actor, sit: Sit, now: datetime) -> None:
    """Write a sit that the rules let pass, its claims to the lowest free seats, and the fact.

    Inside the transaction of whoever judged it under the locks of property and persons.
    Raises ``IntegrityError`` when somebody holds the seat, or the person has another.
    """
    writing.create(
        sit,
        actor=actor,
        action=Action.SIT_BOOK,
        now=now,
        property_id=sit.property_id,
        reason=sit.overrule_reason,
    )
    claim_seats(sit)
    ids = {
        "sit": sit.id,
        "property": sit.property_id,
        "stand": sit.stand_id,
        "person": sit.person_id,
    }
    outbox.publish(topic=SIT_BOOKED, ids=ids, now=now)


def claim_seats(sit: Sit) -> None:
    """Claim the lowest free seat of the sit's stand in each of its sessions."""
    for session in sessions_of_span(sit.local_date, sit.span):
        claims = SeatClaim.objects.filter(
            stand=sit.stand_id, local_date=session.local_date, kind=session.kind
        )
        taken = set(claims.values_list("seat_number", flat=True))
        SeatClaim.objects.create(
            sit=sit,
            stand=sit.stand,
            person=sit.person,
            local_date=session.local_date,
            kind=session.kind,
            seat_number=next(number for number in count(1) if number not in taken),
        )


def _other_person(actor: Actor, person: Person | None, stand: Stand) -> Person:
    if person is None:
        own = Person.objects.filter(id=actor.person_id).first() if actor.person_id else None
        if own is None:
            raise ValidationError({"person": "Name the person: you are no person here."})
        return own
    actor.require_to_name(
        "person", Action.SIT_MANAGE, stand.property_id, why=OTHERS_ARE_BOOKED_BY_MANAGERS
    )
    if person.host_id is not None:
        raise ValidationError({"person": "A guest comes with their host: name the host."})
    return person


def check_overrule(actor: Actor, overrule: Overrule, property_id: UUID) -> None:
    """Raise unless the actor may set these rules aside there, with a reason, and they may be."""
    actor.require_to_name("overrule", Action.SIT_MANAGE, property_id, why=MANAGERS_OVERRULE)
    if not overrule.reason.strip():
        raise ValidationError({"overrule_reason": "Say why the rule is set aside."})
    for code in sorted(overrule.codes):
        try:
            is_overrulable = objection(code).overrulable
        except KeyError:
            raise ValidationError({"overrule": f"No house rule has the code {code}."}) from None
        if not is_overrulable:
            raise ValidationError(
                {"overrule": f"{code} touches safety or access; nobody sets it aside."}
            )
