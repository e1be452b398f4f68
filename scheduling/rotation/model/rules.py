"""The house rules' rows for one planning problem."""

from collections import defaultdict

import numpy as np

from scheduling.rotation.asks import sets_to_count
from scheduling.rotation.candidates import Candidates, session_days
from scheduling.rotation.guests import seat_year
from scheduling.rotation.problem import RotationProblem
from scheduling.rules import (
    capacity,
    exclusion,
    guest_caps,
    member_limits,
    own_claim,
    pressure,
    property_cap,
    rest,
    same_wind,
    weekly_limit,
)
from scheduling.rules.rows import BoolArray, IntArray, SeatRows, UseRows, grouped_seat_rows


def use_rows(problem: RotationProblem, seats: Candidates) -> tuple[UseRows, ...]:
    """The rules over uses of stands: rest, same wind, exclusions, a property's week."""
    offered, occupied = _offered(problem, seats), _occupied(problem, seats)
    counted = offered & ~_continuing(problem, seats)
    stand_ids = [stand.id for stand in problem.stands]
    found = [
        rest.rows(
            stand_ids=stand_ids,
            sessions=problem.sessions,
            offered=counted,
            rest_days=np.array([stand.rest_days for stand in problem.stands], dtype=np.int64),
            uses=problem.uses_outside,
        ),
        exclusion.rows(**_excluded_pairs(problem), offered=occupied),
        pressure.rows(
            stand_ids=stand_ids,
            stand_property=_property_of_stand(problem),
            sessions=problem.sessions,
            offered=counted,
            uses_a_week=np.array(
                [place.uses_a_week or 0 for place in problem.properties], dtype=np.int64
            ),
            uses=problem.uses_outside,
        ),
    ]
    tolerated = np.array([stand.same_wind_excess for stand in problem.stands], dtype=np.int64)
    for excess in np.unique(tolerated):
        found += _same_wind_rows(problem, counted, tolerated == excess, int(excess))
    return tuple(found)


def priced_rows(problem: RotationProblem, seats: Candidates) -> tuple[UseRows, ...]:
    """The caps of stands whose same-wind cap is soft, to be exceeded at a price."""
    counted = _offered(problem, seats) & ~_continuing(problem, seats)
    soft = np.array([stand.same_wind_excess > 0 for stand in problem.stands], dtype=np.bool_)
    return _same_wind_rows(problem, counted, soft, 0)


def _same_wind_rows(
    problem: RotationProblem, counted: BoolArray, stands: BoolArray, excess: int
) -> tuple[UseRows, ...]:
    """The rows of the marked ``stands``, shape (stands,), with ``excess`` uses more."""
    if problem.same_wind_cap is None or not stands.any():
        return ()
    rows = same_wind.rows(
        stand_ids=[stand.id for stand in problem.stands],
        sessions=problem.sessions,
        offered=counted & stands[:, None],
        sector_per_mille=_sector_per_mille(problem),
        uses=problem.uses_outside,
        cap=problem.same_wind_cap + excess,
        window_days=problem.same_wind_window_days,
    )
    return (rows,)


def seat_rows(problem: RotationProblem, seats: Candidates) -> tuple[SeatRows, ...]:
    """The rules over seats: places on stands and properties, members' limits, guests."""
    property_of = _property_of_stand(problem)
    caps = [place.hunters_a_session for place in problem.properties]
    return (
        capacity.rows(
            seat_stand=seats.stand,
            seat_session=seats.use_session,
            seat_hunters=seats.hunters,
            capacity=np.array([stand.capacity for stand in problem.stands], dtype=np.int64),
            sessions=2 * len(problem.sessions),
        ),
        property_cap.rows(
            seat_property=property_of[seats.stand],
            seat_session=seats.session,
            seat_hunters=seats.hunters,
            cap=np.array([-1 if cap is None else cap for cap in caps], dtype=np.int64),
            sessions=len(problem.sessions),
        ),
        *member_limits.rows(
            seat_member=seats.member,
            seat_session=seats.session,
            seat_sits=seats.counts,
            session_day=session_days(problem.sessions),
            sits_per_day=np.array([m.sits_per_day for m in problem.members], dtype=np.int64),
            sits_requested=np.array([m.sits_requested for m in problem.members], dtype=np.int64),
        ),
        _weekly_rows(problem, seats),
        _wish_rows(problem, seats),
        _ask_rows(problem, seats),
        _guest_rows(problem, seats),
        *_guest_cap_rows(problem, seats),
        _whole_days(seats),
    )


def _wish_rows(problem: RotationProblem, seats: Candidates) -> SeatRows:
    """Each wish on its own, of members who ask for sits with guests."""
    wishes = [
        (member.id, guests, wish.sits_requested)
        for member in problem.members
        if member.with_guests
        for guests, wish in member.wish_with.items()
    ]
    number = {(member, guests): place for place, (member, guests, _) in enumerate(wishes)}
    of_seat = np.full(len(seats), -1, dtype=np.int64)
    for seat in np.flatnonzero(_are_of(problem, seats, {member for member, _, _ in wishes})):
        taken = seats.seats[seat]
        of_seat[seat] = number.get((taken.member_id, taken.guest_ids), -1)
    return member_limits.wish_rows(
        seat_wish=of_seat,
        seat_sits=seats.counts,
        sits_requested=np.array([sits for _, _, sits in wishes], dtype=np.int64),
    )


def _ask_rows(problem: RotationProblem, seats: Candidates) -> SeatRows:
    """Of several wishes with the same guests each its own number of sits."""
    of_wish: dict[tuple[str, tuple[str, ...]], list[int]] = defaultdict(list)
    for seat in np.flatnonzero(seats.asks).tolist():
        of_wish[seats.seats[seat].member_id, seats.seats[seat].guest_ids].append(seat)
    entries: list[tuple[int, int]] = []
    limits: list[int] = []
    for (member, guests), own in of_wish.items():
        wish = problem.member_by_id[member].wish_with[guests]
        masks = seats.asks[own].tolist()
        for asks, sits in sets_to_count(wish, masks).items():
            pairs = zip(own, masks, strict=True)
            entries += [(seat, len(limits)) for seat, mask in pairs if not mask & ~asks]
            limits.append(sits)
    number, group = np.array(entries, dtype=np.int64).reshape(-1, 2).T
    return grouped_seat_rows(
        member_limits.TOTAL_CODE,
        seat=number,
        group=group,
        weight=seats.counts[number],
        limit_of_group=np.array(limits, dtype=np.int64),
    )


def _guest_rows(problem: RotationProblem, seats: Candidates) -> SeatRows:
    """A guest sits in one place a session, whoever brings them."""
    brought = seats.hunters > 1
    guests = {guest for seat in np.flatnonzero(brought) for guest in seats.seats[seat].guest_ids}
    number = {guest: place for place, guest in enumerate(sorted(guests))}
    entries = [
        (seat, number[person])
        for seat in np.flatnonzero(brought | _are_of(problem, seats, guests))
        for person in seats.seats[seat].people
        if person in number
    ]
    seat, person = np.array(entries, dtype=np.int64).reshape(-1, 2).T
    return own_claim.guest_rows(seat=seat, person=person, session=seats.session[seat])


def _are_of(problem: RotationProblem, seats: Candidates, members: set[str]) -> BoolArray:
    """Which seats are of one of these members, shape (seats,)."""
    marked = np.array([member.id in members for member in problem.members], dtype=np.bool_)
    return marked[seats.member] if len(seats) else np.zeros(0, dtype=np.bool_)


def _guest_cap_rows(problem: RotationProblem, seats: Candidates) -> tuple[SeatRows, SeatRows]:
    years = np.zeros(len(seats), dtype=np.int64)
    for seat in np.flatnonzero(seats.guests):
        years[seat] = seat_year(problem, seats.seats[seat])
    members = {member.id: number for number, member in enumerate(problem.members)}
    held = [
        (number, year, members.get(host, -1), sits)
        for number, place in enumerate(problem.properties)
        for year, host, sits in place.guest_sits_held
    ]
    return guest_caps.rows(
        seat_host=seats.member,
        seat_property=_property_of_stand(problem)[seats.stand],
        seat_year=years,
        seat_guests=seats.guests,
        cap_of_host=_caps([place.guest_sits_a_host for place in problem.properties]),
        cap_of_property=_caps([place.guest_sits_a_property for place in problem.properties]),
        held=np.array(held, dtype=np.int64).reshape(-1, 4),
    )


def _caps(caps: list[int | None]) -> IntArray:
    return np.array([cap or 0 for cap in caps], dtype=np.int64)


def _whole_days(seats: Candidates) -> SeatRows:
    """Morning and evening of a wished all-day sit are both taken or neither."""
    morning = np.flatnonzero((seats.partner >= 0) & (seats.counts == 1))
    evening = seats.partner[morning]
    row = np.arange(len(morning), dtype=np.int64)
    one = np.ones(len(morning), dtype=np.int64)
    return SeatRows(
        code="all_day",
        row=np.concatenate([row, row, row + len(row), row + len(row)]),
        seat=np.concatenate([morning, evening, morning, evening]),
        weight=np.concatenate([one, -one, -one, one]),
        limit=np.zeros(2 * len(row), dtype=np.int64),
    )


def _weekly_rows(problem: RotationProblem, seats: Candidates) -> SeatRows:
    weeks, week_of_session = weekly_limit.weeks_of(problem.sessions)
    held = np.zeros((len(problem.members), len(weeks)), dtype=np.int64)
    place_of_week = {int(week): place for place, week in enumerate(weeks)}
    for number, member in enumerate(problem.members):
        for monday, sits in member.sits_held_by_week:
            if monday.toordinal() in place_of_week:
                held[number, place_of_week[monday.toordinal()]] += sits
    no_limit = len(problem.sessions) + int(held.max(initial=0))
    limits = [no_limit if m.sits_a_week is None else m.sits_a_week for m in problem.members]
    return weekly_limit.rows(
        seat_member=seats.member,
        seat_session=seats.session,
        seat_sits=seats.counts,
        session_week=week_of_session,
        weekly_sits=np.array(limits, dtype=np.int64),
        sits_held=held,
    )


def _property_of_stand(problem: RotationProblem) -> IntArray:
    places = {place.id: number for number, place in enumerate(problem.properties)}
    return np.array([places[stand.property_id] for stand in problem.stands], dtype=np.int64)


def _offered(problem: RotationProblem, seats: Candidates) -> BoolArray:
    """Which stands could be used anew in which sessions; shape (stands, sessions)."""
    offered = np.zeros((len(problem.stands), len(problem.sessions)), dtype=np.bool_)
    anew = seats.use_session < len(problem.sessions)
    offered[seats.stand[anew], seats.session[anew]] = True
    return offered


def _occupied(problem: RotationProblem, seats: Candidates) -> BoolArray:
    """The same with the evenings of wished all-day sits."""
    occupied = np.zeros((len(problem.stands), len(problem.sessions)), dtype=np.bool_)
    occupied[seats.stand, seats.session] = True
    return occupied


def _continuing(problem: RotationProblem, seats: Candidates) -> BoolArray:
    continuing = np.zeros((len(problem.stands), len(problem.sessions)), dtype=np.bool_)
    halves = (seats.counts == 0) & seats.locked
    continuing[seats.stand[halves], seats.session[halves]] = True
    return continuing


def _sector_per_mille(problem: RotationProblem) -> IntArray:
    stands = {stand.id: number for number, stand in enumerate(problem.stands)}
    sessions = {session: number for number, session in enumerate(problem.sessions)}
    chances = np.zeros((len(stands), len(sessions), problem.sectors), dtype=np.int64)
    for outlook in problem.outlooks:
        chances[stands[outlook.stand_id], sessions[outlook.session]] = outlook.sector_per_mille
    return chances


def _excluded_pairs(problem: RotationProblem) -> dict[str, IntArray]:
    stands = {stand.id: number for number, stand in enumerate(problem.stands)}
    sessions = {session: number for number, session in enumerate(problem.sessions)}
    pairs, when = [], []
    for exclusion_ in problem.exclusions:
        numbers = [stands[stand_id] for stand_id in exclusion_.stand_ids]
        for session in exclusion_.sessions or problem.sessions:
            if session in sessions:
                pairs.append(numbers)
                when.append(sessions[session])
    return {
        "pair_stand": np.array(pairs, dtype=np.int64).reshape(-1, 2),
        "pair_session": np.array(when, dtype=np.int64),
    }
