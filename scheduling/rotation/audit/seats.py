"""Whether each seat could be had, and what each member may have."""

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import combinations

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rotation.problem import PlanAsk, PlanWish, Seat
from scheduling.rules import words

from .tally import Tally, Violation, monday


def bookings_and_doubles(tally: Tally) -> Iterator[Violation]:
    for seat in sorted(tally.locked - set(tally.seats), key=lambda seat: seat.sort_key):
        yield tally.found("booking_moved", "A booking is missing from the plan.", [seat])
    for seat, times in Counter(tally.given).items():
        if times > 1:
            yield tally.found("seat_given_twice", "A seat is in the plan twice.", [seat])


def not_to_be_had(tally: Tally, seat: Seat) -> Iterator[Violation]:
    outlook = tally.problem.outlook_at.get((seat.stand_id, seat.session))
    if outlook is None or outlook.closed_because:
        yield tally.found("stand_not_offered", "The stand is not offered then.", [seat])
    elif outlook.fit_percent < tally.problem.fit_floor_percent:
        yield tally.found("stand_not_offered", "The wind does not suit the stand.", [seat])
    if seat in tally.locked:
        return
    member = tally.problem.member_by_id[seat.member_id]
    wish = member.wish_with.get(seat.guest_ids)
    if wish is None:
        yield tally.found("guests_not_wished", "Nobody asked for a sit with these guests.", [seat])
        return
    if seat.session not in wish.available and not tally.is_of_wished_day(seat):
        yield tally.found("member_not_free", "The member is not free then.", [seat])
    place = tally.problem.stand_by_id[seat.stand_id].property_id
    if place not in wish.properties or (place, seat.session) in wish.not_there:
        yield tally.found("no_access", "The member has no access to the property.", [seat])
    unwanted = wish.preference_percent.get(seat.stand_id, 100) == 0
    if unwanted or (seat.stand_id, seat.session) in wish.not_at:
        yield tally.found("stand_not_wanted", "The member does not want this stand.", [seat])


def half_a_day(tally: Tally, seat: Seat) -> Iterator[Violation]:
    if not tally.is_of_wished_day(seat):
        return
    same_day = [
        other
        for other in tally.by_member[seat.member_id]
        if (other.stand_id, other.guest_ids) == (seat.stand_id, seat.guest_ids)
        and other.session.local_date == seat.session.local_date
    ]
    if len(same_day) != 2:
        sentence = "An all-day sit has its morning or its evening alone."
        yield tally.found("all_day", sentence, [seat])


def beyond_own_limits(tally: Tally, member_id: str, own: Sequence[Seat]) -> Iterator[Violation]:
    member = tally.problem.member_by_id[member_id]
    sits = [seat for seat in own if seat not in tally.halves]
    for session, times in Counter(seat.session for seat in own).items():
        if times > 1:
            double = [seat for seat in own if seat.session == session]
            sentence = f"{member_id} has {times} seats in {words.session_words(session)}."
            yield tally.found("one_stand_a_session", sentence, double)
    for day, times in Counter(seat.session.local_date for seat in sits).items():
        if times > member.sits_per_day:
            that_day = [seat for seat in sits if seat.session.local_date == day]
            sentence = f"{member_id} has {times} sits on {words.day_words(day)}."
            yield tally.found("daily_limit", sentence, that_day)
    if member.sits_a_week is not None:
        held = dict(member.sits_held_by_week)
        for week, times in Counter(monday(seat.session.local_date) for seat in sits).items():
            if times + held.get(week, 0) > member.sits_a_week:
                that_week = [seat for seat in sits if monday(seat.session.local_date) == week]
                sentence = (
                    f"{member_id} has {times + held.get(week, 0)} sits in the week of "
                    f"{words.day_words(week)}."
                )
                yield tally.found("weekly_limit", sentence, that_week)


def beyond_own_wishes(tally: Tally, member_id: str, own: Sequence[Seat]) -> Iterator[Violation]:
    """More sits than asked for: in all, alone, with the same guests."""
    member = tally.problem.member_by_id[member_id]
    sits = [seat for seat in own if seat not in tally.halves]
    if len(sits) > member.sits_requested:
        sentence = f"{member_id} has {len(sits)} sits and asked for {member.sits_requested}."
        yield tally.found("requested_total", sentence, sits)
    for guests, wish in member.wish_with.items() if member.with_guests else ():
        together = [seat for seat in sits if seat.guest_ids == guests]
        if len(together) > wish.sits_requested:
            company = f"with {len(guests)} guests" if guests else "alone"
            sentence = (
                f"{member_id} has {len(together)} sits {company} and asked for "
                f"{wish.sits_requested}."
            )
            yield tally.found("requested_total", sentence, together)
    for guests, wish in member.wish_with.items():
        with_these = [seat for seat in sits if seat.guest_ids == guests]
        yield from _beyond_single_asks(tally, wish, with_these)


def _beyond_single_asks(tally: Tally, wish: PlanWish, sits: Sequence[Seat]) -> Iterator[Violation]:
    """Sits for which only some of the asks ask, more than these together."""
    numbers = range(len(wish.asks))
    asked_by = {
        seat: {number for number in numbers if _asks_for(tally, wish.asks[number], seat)}
        for seat in sits
    }
    for size in range(1, len(wish.asks)):
        for some in combinations(numbers, size):
            theirs = [seat for seat in sits if asked_by[seat] and asked_by[seat] <= set(some)]
            asked = sum(wish.asks[number].sits_requested for number in some)
            if len(theirs) > asked and _hang_together(some, [asked_by[seat] for seat in theirs]):
                which = " and ".join(str(number + 1) for number in some)
                sentence = (
                    f"{theirs[0].member_id} has {len(theirs)} sits for which only their wish "
                    f"{which} asks, for {asked}."
                )
                yield tally.found("requested_total", sentence, theirs)


def _hang_together(some: Sequence[int], asked_by: Sequence[set[int]]) -> bool:
    """Whether sits link all of the asks; those that share none are counted apart."""
    linked = {some[0]}
    while True:
        more = linked.union(*(asks for asks in asked_by if asks & linked))
        if more == linked:
            return linked == set(some)
        linked = more


def _asks_for(tally: Tally, ask: PlanAsk, seat: Seat) -> bool:
    """By plain looking up; an all-day sit is known by its evening half."""
    evening = SessionKey(seat.session.local_date, SessionKind.EVENING)
    is_all_day = tally.is_of_wished_day(seat) or seat._replace(session=evening) in tally.halves
    return (
        is_all_day == ask.all_day and seat.stand_id in ask.stands and seat.session in ask.sessions
    )
