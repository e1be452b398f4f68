"""The seats a plan may grant, as arrays in a canonical order."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rules.rows import BoolArray, IntArray

from .asks import asking
from .guests import cap_refusals, property_of
from .problem import PlanMember, PlanWish, RotationProblem, Seat

_HALVES = (SessionKind.MORNING, SessionKind.EVENING)


@dataclass(frozen=True, kw_only=True)
class Candidates:
    """Candidate seats: ``member``, ``stand``, ``session``, ``quality`` of shape (seats,).

    ``worth`` is what a seat counts toward its member's share.

    The numbers index the problem's members, stands and sessions. ``locked`` marks bookings,
    ``published`` seats of the last plan, ``counts`` is 0 for evening halves of all-day sits
    and 1 otherwise, ``hunters`` counts the member and guests, ``guests`` those guests that
    their caps count. ``asks`` are the bits of the asks that a seat may be given to, 0 where its
    wish is but one. ``partner`` is the number of the other half
    of a wished all-day sit, −1 where there is none.

    ``use_session`` numbers the session of the use that a seat needs. The evening of a wished
    all-day sit needs a use of its own, numbered behind all sessions, for it continues the
    morning's and is not counted again; where a booking goes on into that evening, it joins it.
    """

    seats: tuple[Seat, ...]
    member: IntArray
    stand: IntArray
    session: IntArray
    quality: IntArray
    worth: IntArray
    hunters: IntArray
    guests: IntArray
    counts: IntArray
    asks: IntArray
    partner: IntArray
    use_session: IntArray
    locked: BoolArray
    published: BoolArray

    def __len__(self) -> int:
        return len(self.seats)

    @cached_property
    def number(self) -> dict[Seat, int]:
        return {seat: number for number, seat in enumerate(self.seats)}

    def numbers(self, seats: tuple[Seat, ...]) -> IntArray:
        return np.array(sorted(self.number[seat] for seat in seats), dtype=np.int64)


def candidates(problem: RotationProblem) -> Candidates:
    """Every seat that a member could have and wants, and every locked one."""
    locked = set(problem.locked)
    wished = {
        seat
        for member in problem.members
        for seat in _wished(problem, member)
        if not seat.guest_ids or _has_room(problem, seat)
    }
    seats = sorted(wished | locked, key=lambda seat: seat.sort_key)
    members = {member.id: number for number, member in enumerate(problem.members)}
    stands = {stand.id: number for number, stand in enumerate(problem.stands)}
    sessions = {session: number for number, session in enumerate(problem.sessions)}
    numbers = {seat: number for number, seat in enumerate(seats)}
    published = set(problem.published or ())
    return Candidates(
        seats=tuple(seats),
        member=_whole([members[seat.member_id] for seat in seats]),
        stand=_whole([stands[seat.stand_id] for seat in seats]),
        session=_whole([sessions[seat.session] for seat in seats]),
        quality=_whole([problem.quality_percent(seat) for seat in seats]),
        worth=_whole([problem.worth(seat) for seat in seats]),
        hunters=_whole([seat.hunters for seat in seats]),
        guests=_whole([problem.guests_counted(seat) for seat in seats]),
        counts=_whole([not problem.continues_morning(seat) for seat in seats]),
        asks=_asks(problem, seats),
        partner=_whole([_partner(problem, seat, numbers) for seat in seats]),
        use_session=_use_sessions(problem, seats, sessions),
        locked=np.array([seat in locked for seat in seats], dtype=np.bool_),
        published=np.array([seat in published for seat in seats], dtype=np.bool_),
    )


def other_half(seat: Seat) -> Seat:
    """The same stand in the other session of the day."""
    day, kind = seat.session
    is_morning = kind is SessionKind.MORNING
    other = SessionKind.EVENING if is_morning else SessionKind.MORNING
    return seat._replace(session=SessionKey(day, other))


def _partner(problem: RotationProblem, seat: Seat, numbers: Mapping[Seat, int]) -> int:
    return numbers[other_half(seat)] if problem.is_of_wished_day(seat) else -1


def _asks(problem: RotationProblem, seats: Sequence[Seat]) -> IntArray:
    several = {
        (member.id, guests): wish
        for member in problem.members
        for guests, wish in member.wish_with.items()
        if wish.asks
    }
    found = np.zeros(len(seats), dtype=np.int64)
    for number, seat in enumerate(seats if several else ()):
        wish = several.get((seat.member_id, seat.guest_ids))
        if wish is not None:
            found[number] = asking(problem, wish, seat)
    return found


def _use_sessions(
    problem: RotationProblem, seats: Sequence[Seat], sessions: Mapping[SessionKey, int]
) -> IntArray:
    goes_on = {(half.stand_id, half.session) for half in problem.evening_halves}
    return _whole(
        [
            sessions[seat.session]
            + len(sessions)
            * (
                problem.is_of_wished_day(seat)
                and problem.continues_morning(seat)
                and (seat.stand_id, seat.session) not in goes_on
            )
            for seat in seats
        ]
    )


def _whole(values: list[int]) -> IntArray:
    return np.array(values, dtype=np.int64)


def _wished(problem: RotationProblem, member: PlanMember) -> Iterator[Seat]:
    if member.sits_requested == 0:
        return
    for wish in member.wish_with.values():
        if wish.sits_requested:
            yield from _wished_together(problem, member, wish)


def _wished_together(
    problem: RotationProblem, member: PlanMember, wish: PlanWish
) -> Iterator[Seat]:
    wanted = [
        stand.id
        for place in sorted(set(wish.properties))
        for stand in problem.stands_on.get(place, ())
        if wish.preference_percent.get(stand.id, 100) > 0
    ]
    open_stands = problem.open_stands_in
    place_of = problem.stand_by_id

    def stands_open_in(session: SessionKey) -> list[str]:
        offered: frozenset[str] = open_stands.get(session, frozenset())
        return [
            stand
            for stand in wanted
            if stand in offered
            and not wish.bars(
                property_id=place_of[stand].property_id, stand_id=stand, session=session
            )
        ]

    for session in wish.available:
        yield from (
            Seat(member.id, stand, session, wish.guest_ids) for stand in stands_open_in(session)
        )
    for day in wish.all_day_on:
        halves = [SessionKey(day, kind) for kind in _HALVES]
        in_both = set.intersection(*(set(stands_open_in(half)) for half in halves))
        for stand in wanted:
            if stand in in_both:
                yield from (Seat(member.id, stand, half, wish.guest_ids) for half in halves)


def _has_room(problem: RotationProblem, seat: Seat) -> bool:
    """Whether the seat's guests could ever come: a wish that no plan grants lowers no share."""
    cap = property_of(problem, seat).hunters_a_session
    places = problem.stand_by_id[seat.stand_id].capacity
    # An all-day sit is counted in its morning.
    counted = other_half(seat) if problem.continues_morning(seat) else seat
    return (
        seat.hunters <= (places if cap is None else min(places, cap))
        and next(cap_refusals(problem, counted), None) is None
    )


def session_days(sessions: tuple[SessionKey, ...]) -> IntArray:
    return np.array([session.local_date.toordinal() for session in sessions], dtype=np.int64)
