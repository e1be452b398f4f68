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
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.models import Property
from properties.people.models import Outfitter, Person
from properties.sessions.kinds import SessionKey
from properties.sessions.queries import place_of, settings_of
from properties.sessions.windows import SessionWindow, all_day_window
from properties.stands.models import Stand
from properties.stands.queries import sees_details
from properties.wind.models import SessionFit
from scheduling.rules.catalogue import objection
from scheduling.rules.facts import SitProposal
from scheduling.rules.judge import left_standing, refusals
from scheduling.rules.refusal import Refusal
from scheduling.sits import notices
from scheduling.sits.client_services import keep_client, outfitter_of
from scheduling.sits.facts_queries import SitFacts, sit_facts
from scheduling.sits.models import SeatClaim, Sit
from scheduling.sits.overlaps import overlap_refusals
from scheduling.sits.problems import SeatTaken, refused
from scheduling.sits.uses_queries import sessions_of_span

SIT_BOOKED = "sit.booked"


@dataclass(frozen=True, kw_only=True)
class Overrule:
    """What a manager sets aside, by code, and why; safety and access stay."""

    codes: frozenset[str]
    reason: str


@dataclass(frozen=True, kw_only=True)
class Party:
    """Who sits: one person, with guests; for an outfitter's client the outfitter."""

    person: Person
    guests: tuple[Person, ...] = ()
    outfitter: Outfitter | None = None

    @property
    def everybody(self) -> tuple[Person, ...]:
        return (self.person, *self.guests)


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

    Whoever books for another person, or overrules, must manage sits there. Raises
    :class:`Refused` with every objection, :class:`SeatTaken`, ``PermissionDenied``, and
    ``ValidationError`` by field.
    """
    actor.require(Action.SIT_BOOK, stand.property_id)
    if person is None or person.id != actor.person_id:
        person = _other_person(actor, person, stand)
    if overrule is not None:
        _check_overrule(actor, overrule, stand.property_id)
    for guest in guests:
        if guest.host_id != person.id or guest.retired_at is not None:
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
    land = _locked(stand, party)
    facts = sit_facts(
        lands=[land],
        first_on=local_date,
        last_on=local_date,
        person_ids=[person.id for person in party.everybody],
        asked_stands={stand.id},
        now=now,
    )
    proposal = SitProposal(
        member_id=str(party.person.id),
        stand_id=str(stand.id),
        sessions=sessions_of_span(local_date, span),
        guest_ids=tuple(str(guest.id) for guest in party.guests),
        weapon=weapon or None,
    )
    standing = left_standing(
        _objections(proposal, facts, party), overruled=overrule.codes if overrule else ()
    )
    if standing:
        raise refused(standing, names_places=sees_details(actor=actor, property_id=land.id))
    window = _window(land, proposal.sessions, facts)
    known = _known_now(stand.id, proposal.sessions, facts)
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
            overrule_reason=overrule.reason if overrule else "",
            **known,
        )
        for person in party.everybody
    ]
    for sit in sits:
        place_sit(actor=actor, sit=sit, now=now)
    if not actor.is_system and actor.person_id not in (None, party.person.id):
        notices.tell_of_booked_by_other(sits[0], by=actor.name, now=now)
    return sits[0]


def _locked(stand: Stand, party: Party) -> Property:
    """Lock property, stand, then persons in the order of their ids: nobody waits crosswise.

    Whoever closes the stand waits for its row, so no sit slips past a closing.
    """
    land = Property.objects.select_for_update(no_key=True).get(id=stand.property_id)
    Stand.objects.select_for_update(no_key=True).get(id=stand.id)
    if land.retired_at is not None:
        raise ValidationError({"stand": "Its property has been retired."})
    ids = [person.id for person in party.everybody]
    locked = Person.objects.select_for_update(no_key=True).filter(id__in=ids).order_by("id")
    if any(person.retired_at is not None for person in locked):
        raise ValidationError({"person": "Has been retired."})
    return land


def _objections(proposal: SitProposal, facts: SitFacts, party: Party) -> tuple[Refusal, ...]:
    by_rules = refusals(proposal, facts=facts.booking, limits=facts.limits[str(proposal.stand_id)])
    return by_rules + overlap_refusals(
        [person.id for person in party.everybody], facts.booking.sessions_of(proposal)
    )


def _window(land: Property, sessions: tuple[SessionKey, ...], facts: SitFacts) -> SessionWindow:
    window = (
        facts.windows[land.id, sessions[0]]
        if len(sessions) == 1
        else all_day_window(
            place=place_of(land), local_date=sessions[0].local_date, settings=settings_of(land)
        )
    )
    # A session that does not exist was refused by the rules, and nobody can overrule that.
    assert isinstance(window, SessionWindow)
    return window


def _known_now(stand_id: UUID, sessions: tuple[SessionKey, ...], facts: SitFacts) -> dict[str, Any]:
    """What was known of the wind when the sit was booked; of an all-day sit the worse fit."""
    fits = [facts.fits.get((stand_id, session)) for session in sessions]
    found: list[SessionFit] = [fit for fit in fits if fit is not None]
    if not found:
        return {}
    known = [fit.fit for fit in found if fit.fit is not None]
    return {
        "fit": min(known) if len(known) == len(sessions) else None,
        "sector_per_mille": found[0].sector_per_mille,
        "issue_id": found[0].issue_id,
    }


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
    actor.require(Action.SIT_MANAGE, stand.property_id)
    if person.host_id is not None:
        raise ValidationError({"person": "A guest comes with their host: name the host."})
    return person


def _check_overrule(actor: Actor, overrule: Overrule, property_id: UUID) -> None:
    actor.require(Action.SIT_MANAGE, property_id)
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
