"""What can I sit? Every stand and session judged for one person, the best first."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from properties.land.models import Property
from properties.sessions.kinds import SessionKey, SessionKind
from properties.sessions.windows import SessionWindow
from properties.stands.models import Stand
from properties.wind.models import SessionFit
from scheduling.rules.facts import MemberFacts, NeighbourUse, PaperFacts, RoleFacts, SitProposal
from scheduling.rules.judge import refusals
from scheduling.rules.refusal import Refusal
from scheduling.sits.facts_queries import SitFacts, sit_facts
from scheduling.sits.ground_queries import stand_point
from scheduling.sits.people_queries import CLIENT_ROLE
from scheduling.sits.surroundings import Directions, directions

SOME_CLIENT = "client"


@dataclass(frozen=True, kw_only=True)
class Nearby:
    """Somebody in the same session on the property; direction and distance from the stand."""

    stand_id: str
    stand_name: str
    first_name: str
    bearing_deg: float | None
    distance_m: float


@dataclass(frozen=True, kw_only=True)
class Offer:
    """One stand in one session: whether it is offered, and everything that objects."""

    land: Property
    stand: Stand
    session: SessionKey
    window: SessionWindow | None
    fit: SessionFit | None
    refusals: tuple[Refusal, ...]
    free_seats: int
    nearby: tuple[Nearby, ...]

    @property
    def offered(self) -> bool:
        return not self.refusals


def offers(
    *,
    lands: Sequence[Property],
    first_on: date,
    last_on: date,
    kinds: Sequence[SessionKind],
    person_id: UUID | None,
    weapon: str | None,
    now: datetime,
) -> list[Offer]:
    """Offers of properties over local dates, by session, in each what suits best first.

    ``person_id`` None asks for some client of an outfitter, whose papers are looked at when
    they are named. Fits are read, not computed; the number of queries does not depend on
    stands or days.
    """
    facts = sit_facts(
        lands=lands,
        first_on=first_on,
        last_on=last_on,
        person_ids=[person_id] if person_id else [],
        seats_held_not_for=[person_id] if person_id else [],
        now=now,
    )
    judged_by = facts if person_id else _with_some_client(facts)
    member_id = str(person_id) if person_id else SOME_CLIENT
    by_id = {land.id: land for land in lands}
    around = directions([stand_point(stand) for stand in facts.stands.values()])
    found = [
        _offer(judged_by, by_id[stand.property_id], stand, session, member_id, weapon, around)
        for (property_id, session) in facts.windows
        if session.kind in kinds
        for stand in facts.stands.values()
        if stand.property_id == property_id and stand.retired_at is None
    ]
    return sorted(found, key=_what_suits)


def _what_suits(offer: Offer) -> tuple[object, ...]:
    fit = offer.fit.fit if offer.fit and offer.fit.fit is not None else -1.0
    return (
        offer.session.order,
        not offer.offered,
        -fit,
        len(offer.refusals),
        offer.stand.name,
        str(offer.stand.id),
    )


def _offer(
    facts: SitFacts,
    land: Property,
    stand: Stand,
    session: SessionKey,
    member_id: str,
    weapon: str | None,
    around: Directions,
) -> Offer:
    stand_id = str(stand.id)
    proposal = SitProposal(
        member_id=member_id, stand_id=stand_id, sessions=(session,), weapon=weapon
    )
    use = facts.booking.use(stand_id, session)
    window = facts.windows[land.id, session]
    return Offer(
        land=land,
        stand=stand,
        session=session,
        window=window if isinstance(window, SessionWindow) else None,
        fit=facts.fits.get((stand.id, session)),
        refusals=refusals(proposal, facts=facts.booking, limits=facts.limits[stand_id]),
        free_seats=max(stand.capacity - (use.hunters if use else 0), 0),
        nearby=tuple(_nearby(stand_id, facts.booking.neighbours_in(str(land.id), session), around)),
    )


def _nearby(stand_id: str, others: Iterable[NeighbourUse], around: Directions) -> Iterable[Nearby]:
    for other in others:
        bearing_deg, distance_m = around.between(stand_id, other.stand_id)
        yield Nearby(
            stand_id=other.stand_id,
            stand_name=other.stand_name,
            first_name=other.first_name,
            bearing_deg=bearing_deg,
            distance_m=distance_m,
        )


def _with_some_client(facts: SitFacts) -> SitFacts:
    """The same snapshot with a client who holds whatever papers the properties ask for."""
    places = facts.booking.properties
    client = MemberFacts(
        member_id=SOME_CLIENT,
        name="A client",
        papers=tuple(
            PaperFacts(kind=kind)
            for kind in sorted(frozenset().union(*(place.required_papers for place in places)))
        ),
        roles=tuple(RoleFacts(property_id=place.property_id, role=CLIENT_ROLE) for place in places),
    )
    return replace(facts, booking=replace(facts.booking, members=(client,)))
