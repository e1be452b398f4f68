"""What makes a planning problem contradict itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from scheduling.rules.uses import FULL_PER_MILLE

MOST_ASKS = 8
"""So many wishes with the same guests have each their own number: of k, up to 2^k sums count."""

if TYPE_CHECKING:
    from .problem import Outlook, PlanMember, PlanStand, PlanWish, RotationProblem


def faults_of(problem: RotationProblem) -> Iterator[str]:
    """Everything wrong with ``problem``, each in a few words."""
    yield from _repeated("member", [member.id for member in problem.members])
    yield from _repeated("stand", [stand.id for stand in problem.stands])
    yield from _repeated("property", [place.id for place in problem.properties])
    yield from _repeated("guest", [guest.id for guest in problem.guests])
    yield from _repeated("session", problem.sessions)
    yield from _repeated("outlook", [(o.stand_id, o.session) for o in problem.outlooks])
    yield from _repeated("locked seat", problem.locked)
    yield from _repeated("published seat", problem.published or ())
    yield from _unknown_places(problem)
    yield from _unknown_seats(problem)
    yield from _whole_days(problem)
    yield from _accompanied(problem)
    yield from _asked_severally(problem)
    for member in problem.members:
        yield from _member_faults(member)
    for stand in problem.stands:
        yield from _stand_faults(stand)
    for outlook in problem.outlooks:
        yield from _outlook_faults(problem, outlook)
    for use in problem.uses_outside:
        if use.session in problem.sessions:
            yield f"a use within the plan's sessions belongs to locked seats: {use}"
        if problem.outlooks and len(use.sector_per_mille) != problem.sectors:
            yield f"a use with another number of sectors: {use}"
    if problem.excess_price < 0:
        yield "an excess of uses has a negative price"
    if not 0 <= problem.stability_share <= 1:
        yield "the stability share lies outside 0..1"


def _repeated(what: str, keys: Iterable[Any]) -> Iterator[str]:
    seen = set()
    for key in keys:
        if key in seen:
            yield f"{what} {key} is given twice"
        seen.add(key)


def _unknown_places(problem: RotationProblem) -> Iterator[str]:
    stands, sessions = problem.stand_by_id, set(problem.sessions)
    for stand in problem.stands:
        if stand.property_id not in problem.property_by_id:
            yield f"stand {stand.id} lies on unknown property {stand.property_id}"
    for outlook in problem.outlooks:
        if outlook.stand_id not in stands or outlook.session not in sessions:
            yield f"an outlook for unknown {outlook.stand_id} {outlook.session}"
    for exclusion in problem.exclusions:
        if len(set(exclusion.stand_ids) & stands.keys()) != 2:
            yield f"an exclusion of unknown or equal stands {exclusion.stand_ids}"


def _unknown_seats(problem: RotationProblem) -> Iterator[str]:
    sessions = set(problem.sessions)
    for seat in (*problem.locked, *(problem.published or ())):
        if seat.member_id not in problem.member_by_id or seat.stand_id not in problem.stand_by_id:
            yield f"a seat of unknown member or stand {seat}"
        elif not problem.guest_by_id.keys() >= set(seat.guest_ids):
            yield f"a seat with an unknown guest {seat}"
    for seat in problem.locked:
        if seat.session not in sessions:
            yield f"a locked seat outside the plan's sessions {seat}"
    for seat in set(problem.evening_halves) - set(problem.locked):
        yield f"an evening half that is not locked {seat}"


def _whole_days(problem: RotationProblem) -> Iterator[str]:
    booked = {(seat.member_id, seat.session.local_date) for seat in problem.locked}
    days = {session.local_date for session in problem.sessions}
    for member in problem.members:
        for wish in member.wish_with.values():
            singly = {session.local_date for session in wish.available}
            if singly & set(wish.all_day_on):
                yield f"member {member.id} wants a day both as a whole and by its sessions"
            for day in wish.all_day_on:
                if (member.id, day) in booked:
                    yield f"member {member.id} wants the whole of {day} and holds a booking then"
                if day not in days:
                    yield f"member {member.id} wants the whole of {day}, which is not planned"


def _accompanied(problem: RotationProblem) -> Iterator[str]:
    for member in problem.members:
        companies = [wish.guest_ids for wish in member.with_guests]
        yield from _repeated(f"a wish of member {member.id} with guests", companies)
        for guests in companies:
            if not guests or list(guests) != sorted({*guests} - {member.id}):
                yield f"member {member.id} names guests out of order, twice, or nobody {guests}"
            if not problem.guest_by_id.keys() >= set(guests):
                yield f"member {member.id} names an unknown guest {guests}"
    for place in problem.properties:
        caps = (place.guest_sits_a_host, place.guest_sits_a_property)
        if any(cap is not None and cap < 1 for cap in caps):
            yield f"property {place.id} has a cap of guests below 1"
        if not 1 <= place.year_first_month <= 12:
            yield f"property {place.id} begins its year in no month"


def _asked_severally(problem: RotationProblem) -> Iterator[str]:
    for member in problem.members:
        for wish in member.wish_with.values():
            if len(wish.asks) == 1 or len(wish.asks) > MOST_ASKS:
                yield f"member {member.id} has 1 ask in a wish, or more than {MOST_ASKS}"
            for ask in wish.asks:
                if ask.sits_requested < 0:
                    yield f"member {member.id} asks for a negative number of sits"
                if not problem.stand_by_id.keys() >= set(ask.stands):
                    yield f"member {member.id} asks for unknown stands"


def _member_faults(member: PlanMember) -> Iterator[str]:
    for wish in member.wish_with.values():
        yield from _wish_faults(member, wish)
    if min(member.sits_requested, member.received_quality, member.priority_points) < 0:
        yield f"member {member.id} has a negative figure"
    entitlement = 1 if member.entitlement is None else member.entitlement
    if min(member.sits_per_day, entitlement) < 1:
        yield f"member {member.id} needs a daily limit and entitlement of 1 or more"
    if member.sits_a_week is not None and member.sits_a_week < 0:
        yield f"member {member.id} has a negative weekly limit"
    if any(monday.weekday() or sits < 0 for monday, sits in member.sits_held_by_week):
        yield f"member {member.id} holds sits in a week that does not begin on a Monday"


def _wish_faults(member: PlanMember, wish: PlanWish) -> Iterator[str]:
    if wish.sits_requested < 0:
        yield f"member {member.id} asks for more sits with guests than in all"
    if any(not 0 <= percent <= 200 for percent in wish.preference_percent.values()):
        yield f"member {member.id} has a preference outside 0..200 %"


def _stand_faults(stand: PlanStand) -> Iterator[str]:
    if min(stand.rest_days, stand.same_wind_excess) < 0:
        yield f"stand {stand.id} has a negative figure"
    if stand.capacity < 1 or not 0 <= stand.quality_percent <= 200:
        yield f"stand {stand.id} has a figure out of range"


def _outlook_faults(problem: RotationProblem, outlook: Outlook) -> Iterator[str]:
    chances = outlook.sector_per_mille
    where = f"outlook {outlook.stand_id} {outlook.session}"
    if len(chances) != problem.sectors or min(chances, default=0) < 0:
        yield f"{where}: sectors differ in number or are negative"
    if sum(chances) not in (0, FULL_PER_MILLE):
        yield f"{where}: chances sum to {sum(chances)} per mille"
    if outlook.share_percent < 0:
        yield f"{where}: a seat counts less than nothing"
    if not 0 <= outlook.fit_percent <= 100:
        yield f"{where}: fit outside 0..100 %"
