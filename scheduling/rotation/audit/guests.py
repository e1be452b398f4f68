"""Guests: one place a session for each, and their caps in a season's year."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date

from properties.sessions.kinds import SessionKey
from scheduling.rotation.problem import PlanProperty, Seat
from scheduling.rules import words

from .tally import Tally, Violation


def in_two_places(tally: Tally, session: SessionKey, there: Sequence[Seat]) -> Iterator[Violation]:
    for guest in sorted({guest for seat in there for guest in seat.guest_ids}):
        taken = [seat for seat in there if guest == seat.member_id or guest in seat.guest_ids]
        if len(taken) > 1:
            sentence = f"Guest {guest} has {len(taken)} places in {words.session_words(session)}."
            yield tally.found("guest_seated_elsewhere", sentence, taken)


def beyond_caps(tally: Tally) -> Iterator[Violation]:
    for place in tally.problem.properties:
        if place.guest_sits_a_host or place.guest_sits_a_property:
            yield from _beyond_caps_of(tally, place)


def _beyond_caps_of(tally: Tally, place: PlanProperty) -> Iterator[Violation]:
    own = {stand.id for stand in tally.problem.stands if stand.property_id == place.id}
    youth_until = {guest.id: guest.youth_until for guest in tally.problem.guests}
    by_host: dict[tuple[int, str], int] = defaultdict(int)
    bringing: dict[tuple[int, str], list[Seat]] = defaultdict(list)
    for seat in tally.seats:
        if seat.stand_id not in own or seat in tally.halves:
            continue
        day = seat.session.local_date
        limits = [youth_until[guest] for guest in seat.guest_ids]
        guests = sum(limit is None or limit < day for limit in limits)
        if guests:
            by_host[_year(day, place), seat.member_id] += guests
            bringing[_year(day, place), seat.member_id].append(seat)
    held: dict[tuple[int, str], int] = defaultdict(int)
    for year, host, sits in place.guest_sits_held:
        held[year, host] += sits
    for (year, host), sits in by_host.items():
        brought, cap = sits + held[year, host], place.guest_sits_a_host
        if cap and brought > cap:
            sentence = (
                f"{host} brings guests to {brought} sits on property {place.id} in the season "
                f"from {year}; a host may bring {cap}."
            )
            yield tally.found("guests_of_host", sentence, bringing[year, host])
    for year in sorted({year for year, _ in by_host}):
        sits = sum(count for (on, _), count in [*by_host.items(), *held.items()] if on == year)
        cap = place.guest_sits_a_property
        if cap and sits > cap:
            sentence = (
                f"Guests have {sits} sits on property {place.id} in the season from {year}; "
                f"{cap} are allowed."
            )
            seats = [seat for (on, _), own in bringing.items() if on == year for seat in own]
            yield tally.found("guests_on_property", sentence, seats)


def _year(day: date, place: PlanProperty) -> int:
    begins = date(day.year, place.year_first_month, 1)
    return day.year if begins <= day else day.year - 1
