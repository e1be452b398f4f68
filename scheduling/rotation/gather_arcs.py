"""Pairs of stands of which one is in the other's danger arc, as a plan has to keep them apart."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from properties.sessions.kinds import SessionKey
from scheduling.rotation.problem import Exclusion
from scheduling.rules.danger_arcs import weapons_reckoned
from scheduling.rules.snapshot import BookingFacts
from scheduling.sits.facts_queries import SitFacts
from scheduling.sits.models import Sit
from scheduling.sits.uses_queries import sessions_of_sit

StandAt = tuple[str, SessionKey]


def endangering_pairs(
    facts: SitFacts, sessions: Sequence[SessionKey], locked: Sequence[Sit]
) -> Iterable[Exclusion]:
    """A pair for each two stands that a booking would not let be used together, by session.

    A planned seat names no weapon, so the farthest-reaching one that the season allows counts.
    Where bookings that stay take every place of a stand, what they declared counts.
    """
    full = _declared_where_full(facts, locked)
    booking = facts.booking
    for one, other in _pairs(booking):
        apart = tuple(
            session
            for session in sessions
            if booking.danger_weapons(one, other) & _weapons(one, session, booking, full)
            or booking.danger_weapons(other, one) & _weapons(other, session, booking, full)
        )
        if apart:
            yield Exclusion(
                stand_ids=(one, other), sessions=None if len(apart) == len(sessions) else apart
            )


def _pairs(booking: BookingFacts) -> Sequence[tuple[str, str]]:
    arcs = booking.danger_arcs
    pairs = {tuple(sorted((arc.stand_id, arc.other_stand_id))) for arc in arcs}
    return [(one, other) for one, other in sorted(pairs)]


def _weapons(
    stand_id: str,
    session: SessionKey,
    booking: BookingFacts,
    full: Mapping[StandAt, frozenset[str]],
) -> frozenset[str]:
    if (stand_id, session) in full:
        return full[stand_id, session]
    place = booking.property_of(booking.stand(stand_id))
    return weapons_reckoned(place, session.local_date, None)


def _declared_where_full(
    facts: SitFacts, locked: Sequence[Sit]
) -> Mapping[StandAt, frozenset[str]]:
    seated: dict[StandAt, list[Sit]] = defaultdict(list)
    for sit in locked:
        for session in sessions_of_sit(sit):
            seated[str(sit.stand_id), session].append(sit)
    booking = facts.booking
    return {
        (stand_id, session): frozenset().union(
            *(
                weapons_reckoned(
                    booking.property_of(booking.stand(stand_id)), session.local_date, sit.weapon
                )
                for sit in sits
            )
        )
        for (stand_id, session), sits in seated.items()
        if len(sits) >= booking.stand(stand_id).seats
    }
