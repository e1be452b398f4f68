"""Judge who wants a seat by the house rules, under the locks in which it is then written."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError

from properties.land.models import Property
from properties.people.models import Outfitter, Person
from properties.sessions.kinds import SessionKey
from properties.sessions.queries import place_of, settings_on
from properties.sessions.windows import SessionWindow, all_day_window
from properties.stands.models import Stand
from properties.wind.queries import StoredFit
from scheduling.rules.facts import SitProposal
from scheduling.rules.judge import refusals
from scheduling.rules.refusal import Refusal
from scheduling.sits.facts_queries import SitFacts, sit_facts
from scheduling.sits.overlaps import overlap_refusals
from scheduling.sits.uses_queries import sessions_of_span


@dataclass(frozen=True, kw_only=True)
class Party:
    """Who sits: one person, with guests; for an outfitter's client the outfitter."""

    person: Person
    guests: tuple[Person, ...] = ()
    outfitter: Outfitter | None = None

    @property
    def everybody(self) -> tuple[Person, ...]:
        return (self.person, *self.guests)


@dataclass(frozen=True, kw_only=True)
class Judgement:
    """What objects to a party in a stand and session, and what the facts know of that seat."""

    land: Property
    stand: Stand
    sessions: tuple[SessionKey, ...]
    facts: SitFacts
    objections: tuple[Refusal, ...]

    def window(self) -> SessionWindow:
        """The window of the session, or of the whole day; only where nothing objects."""
        window = (
            self.facts.windows[self.land.id, self.sessions[0]]
            if len(self.sessions) == 1
            else all_day_window(
                place=place_of(self.land),
                local_date=self.sessions[0].local_date,
                settings=settings_on(self.land, self.sessions[0].local_date),
            )
        )
        # A session that does not exist was refused by the rules, and nobody can overrule that.
        assert isinstance(window, SessionWindow)
        return window

    def known_now(self) -> dict[str, Any]:
        """The columns of a sit that keep what is known of the wind; all day: the worse fit."""
        fits = [self.facts.fits.get((self.stand.id, session)) for session in self.sessions]
        found: list[StoredFit] = [fit for fit in fits if fit is not None]
        if not found:
            return {}
        known = [fit.fit for fit in found if fit.fit is not None]
        return {
            "fit": min(known) if len(known) == len(self.sessions) else None,
            "sector_per_mille": found[0].sector_per_mille,
            "issue_id": found[0].issue_id,
        }


def lock_seat(stand: Stand, persons: Iterable[Person]) -> Property:
    """Lock property, stand, then persons in the order of their ids: nobody waits crosswise.

    Whoever closes the stand waits for its row, so no sit slips past a closing.
    """
    land = Property.objects.select_for_update(no_key=True).get(id=stand.property_id)
    Stand.objects.select_for_update(no_key=True).get(id=stand.id)
    if land.retired_at is not None:
        raise ValidationError({"stand": "Its property has been retired."})
    ids = [person.id for person in persons]
    locked = Person.objects.select_for_update(no_key=True).filter(id__in=ids).order_by("id")
    if any(person.retired_at is not None for person in locked):
        raise ValidationError({"person": "Has been retired."})
    return land


def judge_seat(
    *,
    land: Property,
    stand: Stand,
    local_date: date,
    span: str,
    party: Party,
    weapon: str,
    now: datetime,
    without_sit: UUID | None = None,
) -> Judgement:
    """Every objection to the party taking seats of the stand.

    ``without_sit`` is a sit that is looked away from: the one whose seat would be taken over.
    """
    facts = sit_facts(
        lands=[land],
        first_on=local_date,
        last_on=local_date,
        person_ids=[person.id for person in party.everybody],
        asked_stands={stand.id},
        without_sit=without_sit,
        seats_held_not_for=[person.id for person in party.everybody],
        now=now,
    )
    sessions = sessions_of_span(local_date, span)
    (judged,) = judgements([stand], sessions, party=party, weapon=weapon, land=land, facts=facts)
    return judged


def judgements(
    stands: Sequence[Stand],
    sessions: tuple[SessionKey, ...],
    *,
    party: Party,
    weapon: str,
    land: Property,
    facts: SitFacts,
) -> list[Judgement]:
    """The party judged in each of the stands of one property, by one snapshot."""
    if not stands:
        return []
    proposals = [
        SitProposal(
            member_id=str(party.person.id),
            stand_id=str(stand.id),
            sessions=sessions,
            guest_ids=tuple(str(guest.id) for guest in party.guests),
            weapon=weapon or None,
        )
        for stand in stands
    ]
    # What each person does on other properties does not depend on the stand.
    elsewhere = overlap_refusals(
        [person.id for person in party.everybody], facts.booking.sessions_of(proposals[0])
    )
    return [
        Judgement(
            land=land,
            stand=stand,
            sessions=sessions,
            facts=facts,
            objections=_with_elsewhere(proposal, facts, elsewhere),
        )
        for stand, proposal in zip(stands, proposals, strict=True)
    ]


def _with_elsewhere(
    proposal: SitProposal, facts: SitFacts, elsewhere: tuple[Refusal, ...]
) -> tuple[Refusal, ...]:
    limits = facts.limits[proposal.stand_id]
    return refusals(proposal, facts=facts.booking, limits=limits) + elsewhere
