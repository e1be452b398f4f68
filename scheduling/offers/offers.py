"""What can I sit? Every stand and session judged for one person, the best first."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from properties.land.models import Property
from properties.sessions.kinds import SessionKey, SessionKind
from properties.sessions.windows import SessionWindow
from properties.stands.models import Stand
from properties.wind.queries import StoredFit
from scheduling.offers.true_until import true_until
from scheduling.rules.facts import MemberFacts, NeighbourUse, PaperFacts, RoleFacts, SitProposal
from scheduling.rules.judge import BookingFilter
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

    stand: Stand
    fit: StoredFit | None
    refusals: tuple[Refusal, ...]
    free_seats: int
    nearby: tuple[Nearby, ...]

    @property
    def offered(self) -> bool:
        return not self.refusals


@dataclass(frozen=True, kw_only=True)
class OfferedSession:
    """One session of a property with its stands, what suits best first; never without any."""

    land: Property
    session: SessionKey
    window: SessionWindow | None
    offers: Sequence[Offer]


@dataclass(frozen=True, kw_only=True)
class Offers:
    """By session, then by property. ``true_until``: if nothing is written, they hold so long."""

    sessions: Sequence[OfferedSession]
    true_until: datetime


def offers(
    *,
    lands: Sequence[Property],
    first_on: date,
    last_on: date,
    kinds: Collection[SessionKind],
    person_id: UUID | None,
    weapon: str | None,
    now: datetime,
) -> Offers:
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
    judging = _Judging(
        facts if person_id else _with_some_client(facts),
        member_id=str(person_id) if person_id else SOME_CLIENT,
        weapon=weapon,
    )
    by_id = {land.id: land for land in lands}
    asked = [
        (session.order, by_id[property_id].name, str(property_id), property_id, session)
        for property_id, session in facts.windows
        if session.kind in kinds
    ]
    found = (
        judging.session(by_id[land_id], session) for *_order, land_id, session in sorted(asked)
    )
    return Offers(
        sessions=[one for one in found if one.offers],
        true_until=true_until(facts, lands=lands),
    )


class _Judging:
    """Stands are judged against one snapshot, for one person and weapon."""

    def __init__(self, facts: SitFacts, *, member_id: str, weapon: str | None) -> None:
        self._facts = facts
        self._member_id = member_id
        self._weapon = weapon
        self._judge = BookingFilter(facts=facts.booking, limits_of=facts.limits.__getitem__)
        self._around = directions([stand_point(stand) for stand in facts.stands.values()])
        self._standing = _standing(facts.stands.values())

    def session(self, land: Property, session: SessionKey) -> OfferedSession:
        window = self._facts.windows[land.id, session]
        others = self._facts.booking.neighbours_in(str(land.id), session)
        found = [
            self._offer(stand, stand_id, session, others)
            for stand, stand_id in self._standing.get(land.id, ())
        ]
        return OfferedSession(
            land=land,
            session=session,
            window=window if isinstance(window, SessionWindow) else None,
            offers=sorted(found, key=_what_suits),
        )

    def _offer(
        self, stand: Stand, stand_id: str, session: SessionKey, others: Iterable[NeighbourUse]
    ) -> Offer:
        proposal = SitProposal(
            member_id=self._member_id, stand_id=stand_id, sessions=(session,), weapon=self._weapon
        )
        use = self._facts.booking.use(stand_id, session)
        return Offer(
            stand=stand,
            fit=self._facts.fits.get((stand.id, session)),
            refusals=self._judge.refusals(proposal),
            free_seats=max(stand.capacity - (use.hunters if use else 0), 0),
            nearby=tuple(_nearby(stand_id, others, self._around)),
        )


def _standing(stands: Iterable[Stand]) -> Mapping[UUID, list[tuple[Stand, str]]]:
    """Stands that are not retired, with their ids as text, by property; by name in each."""
    found: dict[UUID, list[tuple[Stand, str]]] = defaultdict(list)
    for stand in stands:
        if stand.retired_at is None:
            found[stand.property_id].append((stand, str(stand.id)))
    for there in found.values():
        there.sort(key=lambda pair: (pair[0].name, pair[1]))
    return found


def _what_suits(offer: Offer) -> tuple[bool, float, int]:
    """Of two that are alike in this, the names decide, by which the stands come."""
    fit = offer.fit.fit if offer.fit and offer.fit.fit is not None else -1.0
    return (not offer.offered, -fit, len(offer.refusals))


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
