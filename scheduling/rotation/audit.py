"""Every rule counted anew over a finished plan.

Written apart from the solver and from the rules' rows: plain counting over days, stands and
members. Tests use it, and so does whoever publishes a plan.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rules import words
from scheduling.rules.uses import FULL_PER_MILLE, Use

from .problem import EXCESS_STEP_PER_MILLE, PlanStand, RotationProblem, Seat


@dataclass(frozen=True, kw_only=True)
class Violation:
    """A rule broken by ``seats``. ``only_bookings``: the plan added none of them."""

    code: str
    sentence: str
    seats: tuple[Seat, ...]
    only_bookings: bool


def audit(problem: RotationProblem, seats: Iterable[Seat]) -> list[Violation]:
    """Every rule that the plan ``seats`` breaks; empty when it breaks none."""
    return list(_Audit(problem, seats).violations())


@dataclass(frozen=True, kw_only=True)
class Excess:
    """Uses of a stand that the plan counts beyond its soft same-wind cap, in per mille.

    ``price`` is what they cost in quality: each begun half of a use at the problem's price.
    """

    stand_id: str
    per_mille: int
    price: int
    sentence: str


def excesses(problem: RotationProblem, seats: Iterable[Seat]) -> list[Excess]:
    """The greatest excess of each stand whose cap is soft; stands within theirs are left out."""
    counting = _Audit(problem, seats)
    found = [counting.excess_of(stand) for stand in problem.stands if stand.same_wind_excess]
    return [one for one in found if one is not None]


class _Audit:
    def __init__(self, problem: RotationProblem, seats: Iterable[Seat]) -> None:
        self.problem = problem
        self.given = list(seats)
        self.seats = sorted(set(self.given), key=lambda seat: seat.sort_key)
        self.locked = set(problem.locked)
        self.wished_days = {
            (member.id, day) for member in problem.members for day in member.all_day_on
        }
        self.planned_halves = {
            seat
            for seat in self.seats
            if self._is_of_wished_day(seat) and seat.session.kind is SessionKind.EVENING
        }
        self.halves = set(problem.evening_halves) | self.planned_halves
        self.at: dict[tuple[str, SessionKey], list[Seat]] = defaultdict(list)
        self.in_session: dict[SessionKey, list[Seat]] = defaultdict(list)
        self.by_member: dict[str, list[Seat]] = defaultdict(list)
        for seat in self.seats:
            self.at[seat.stand_id, seat.session].append(seat)
            self.in_session[seat.session].append(seat)
            self.by_member[seat.member_id].append(seat)

    def violations(self) -> Iterator[Violation]:
        yield from self._bookings_and_doubles()
        for seat in self.seats:
            yield from self._not_to_be_had(seat)
            yield from self._half_a_day(seat)
        for (stand_id, session), there in self.at.items():
            yield from self._crowded(self.problem.stand_by_id[stand_id], session, there)
            yield from self._joined_half_way(stand_id, session, there)
        for stand in self.problem.stands:
            yield from self._unrested(stand)
            yield from self._worn(stand)
        yield from self._overspent_weeks()
        for session, there in self.in_session.items():
            yield from self._side_by_side(session, there)
            yield from self._overfull_properties(session, there)
        for member_id, own in self.by_member.items():
            yield from self._beyond_own_limits(member_id, own)

    def _is_of_wished_day(self, seat: Seat) -> bool:
        day = (seat.member_id, seat.session.local_date)
        return day in self.wished_days

    def _half_a_day(self, seat: Seat) -> Iterator[Violation]:
        if not self._is_of_wished_day(seat):
            return
        same_day = [
            other
            for other in self.by_member[seat.member_id]
            if other.stand_id == seat.stand_id
            and other.session.local_date == seat.session.local_date
        ]
        if len(same_day) != 2:
            sentence = "An all-day sit has its morning or its evening alone."
            yield self._found("all_day", sentence, [seat])

    def _joined_half_way(
        self, stand_id: str, session: SessionKey, there: Sequence[Seat]
    ) -> Iterator[Violation]:
        goes_on = [seat for seat in there if seat in self.planned_halves]
        is_bookings_too = any(seat in self.halves - self.planned_halves for seat in there)
        if goes_on and not is_bookings_too and len(goes_on) < len(there):
            name = self.problem.stand_by_id[stand_id].shown_name
            sentence = (
                f"Somebody joins an all-day sit on {name} in {words.session_words(session)} only."
            )
            yield self._found("joins_all_day", sentence, there)

    def _behind(self, stand_id: str, session: SessionKey) -> list[Seat]:
        """The seats that make a use: bookings if there are any, for the rest only join them."""
        there = self.at[stand_id, session]
        return [seat for seat in there if seat in self.locked] or there

    def _found(self, code: str, sentence: str, seats: Sequence[Seat]) -> Violation:
        return Violation(
            code=code,
            sentence=sentence,
            seats=tuple(seats),
            only_bookings=bool(seats) and self.locked.issuperset(seats),
        )

    def _bookings_and_doubles(self) -> Iterator[Violation]:
        for seat in sorted(self.locked - set(self.seats), key=lambda seat: seat.sort_key):
            yield self._found("booking_moved", "A booking is missing from the plan.", [seat])
        for seat, times in Counter(self.given).items():
            if times > 1:
                yield self._found("seat_given_twice", "A seat is in the plan twice.", [seat])

    def _not_to_be_had(self, seat: Seat) -> Iterator[Violation]:
        outlook = self.problem.outlook_at.get((seat.stand_id, seat.session))
        if outlook is None or outlook.closed_because:
            yield self._found("stand_not_offered", "The stand is not offered then.", [seat])
        elif outlook.fit_percent < self.problem.fit_floor_percent:
            yield self._found("stand_not_offered", "The wind does not suit the stand.", [seat])
        if seat in self.locked:
            return
        member = self.problem.member_by_id[seat.member_id]
        if seat.session not in member.available and not self._is_of_wished_day(seat):
            yield self._found("member_not_free", "The member is not free then.", [seat])
        if self.problem.stand_by_id[seat.stand_id].property_id not in member.properties:
            yield self._found("no_access", "The member has no access to the property.", [seat])
        if member.preference_percent.get(seat.stand_id, 100) == 0:
            yield self._found("stand_not_wanted", "The member does not want this stand.", [seat])

    def _hunters(self, seats: Iterable[Seat]) -> int:
        return sum(self.problem.member_by_id[seat.member_id].party for seat in seats)

    def _crowded(
        self, stand: PlanStand, session: SessionKey, there: Sequence[Seat]
    ) -> Iterator[Violation]:
        hunters = self._hunters(there)
        if hunters > stand.capacity:
            sentence = (
                f"{hunters} hunters on {stand.shown_name}, which has {stand.capacity}, in "
                f"{words.session_words(session)}."
            )
            yield self._found("stand_full", sentence, there)

    def _counted_sessions(self, stand: PlanStand) -> list[SessionKey]:
        """Sessions in which the plan uses the stand anew, in order of time."""
        return sorted(
            (
                session
                for (stand_id, session), there in self.at.items()
                if stand_id == stand.id and not any(seat in self.halves for seat in there)
            ),
            key=lambda session: session.order,
        )

    def _outside(self, stand: PlanStand) -> list[Use]:
        return [
            use
            for use in self.problem.uses_outside
            if use.stand_id == stand.id and not use.continues_morning
        ]

    def _unrested(self, stand: PlanStand) -> Iterator[Violation]:
        own = self._counted_sessions(stand)
        for earlier, later in pairwise(own):
            if (later.local_date - earlier.local_date).days < stand.rest_days:
                sentence = (
                    f"{stand.shown_name} is used in {words.session_words(earlier)} and again in "
                    f"{words.session_words(later)}: less than {stand.rest_days} days apart."
                )
                seats = [*self._behind(stand.id, earlier), *self._behind(stand.id, later)]
                yield self._found("stand_resting", sentence, seats)
        for use in self._outside(stand):
            for session in own:
                apart = (session.local_date - use.session.local_date).days
                follows = session.order > use.session.order
                rest = stand.rest_days
                if follows and use.rest_days is not None:
                    rest = use.rest_days
                if abs(apart) < rest:
                    sentence = (
                        f"{stand.shown_name} was taken in {words.session_words(use.session)}: "
                        f"less than {rest} days from {words.session_words(session)}."
                    )
                    yield self._found("stand_resting", sentence, self._behind(stand.id, session))

    def _worn(self, stand: PlanStand) -> Iterator[Violation]:
        length = self.problem.same_wind_window_days
        own = self._counted_sessions(stand)
        if self.problem.same_wind_cap is None or not own:
            return
        cap = self.problem.same_wind_cap + stand.same_wind_excess
        chances = {
            session: self.problem.outlook_at[stand.id, session].sector_per_mille
            for session in own
            if (stand.id, session) in self.problem.outlook_at
        }
        past = [(use.session.local_date, use.sector_per_mille) for use in self._outside(stand)]
        for sector in range(self.problem.sectors):
            for step in range(length + (own[-1].local_date - own[0].local_date).days):
                first = own[0].local_date + timedelta(days=step - length + 1)
                last = first + timedelta(days=length - 1)
                within = [
                    session
                    for session, chance in chances.items()
                    if first <= session.local_date <= last and chance[sector]
                ]
                counted = sum(chances[session][sector] for session in within)
                counted += sum(chance[sector] for day, chance in past if first <= day <= last)
                if within and counted > cap * FULL_PER_MILLE:
                    seats = [seat for session in within for seat in self._behind(stand.id, session)]
                    wind = words.sector_words(sector, self.problem.sectors)
                    yield self._found(
                        "same_wind",
                        f"{stand.shown_name} counts {counted / FULL_PER_MILLE:g} uses on a {wind} "
                        f"wind in {length} days; the cap is {cap}.",
                        seats,
                    )
                    break

    def excess_of(self, stand: PlanStand) -> Excess | None:
        """Over every wind and window that ends on a day of use, or goes on past the last."""
        cap, length = self.problem.same_wind_cap, self.problem.same_wind_window_days
        if cap is None:
            return None
        most, wind, past = 0, 0, self._outside(stand)
        planned = [
            (session.local_date.toordinal(), self.problem.outlook_at[stand.id, session])
            for session in self._counted_sessions(stand)
            if (stand.id, session) in self.problem.outlook_at
        ]
        days = {day + shift for day, _ in planned for shift in range(length)}
        for sector in range(self.problem.sectors):
            for last in days:
                within = range(last - length + 1, last + 1)
                used = sum(o.sector_per_mille[sector] for day, o in planned if day in within)
                before = sum(
                    use.sector_per_mille[sector]
                    for use in past
                    if use.session.local_date.toordinal() in within
                )
                beyond = used - max(0, cap * FULL_PER_MILLE - before)
                if beyond > most:
                    most, wind = beyond, sector
        if not most:
            return None
        steps = -(-most // EXCESS_STEP_PER_MILLE)
        return Excess(
            stand_id=stand.id,
            per_mille=most,
            price=steps * self.problem.excess_price,
            sentence=f"{stand.shown_name} exceeds its soft cap of {cap} uses in {length} days by "
            f"{most / FULL_PER_MILLE:g} on {words.sector_words(wind, self.problem.sectors)} wind.",
        )

    def _side_by_side(self, session: SessionKey, there: Sequence[Seat]) -> Iterator[Violation]:
        used = {seat.stand_id for seat in there}
        for exclusion in self.problem.exclusions:
            applies = exclusion.sessions is None or session in exclusion.sessions
            if applies and used.issuperset(exclusion.stand_ids):
                one, other = exclusion.stand_ids
                yield self._found(
                    "neighbour_in_use",
                    f"{self.problem.stand_by_id[one].shown_name} and "
                    f"{self.problem.stand_by_id[other].shown_name} are both used in "
                    f"{words.session_words(session)}.",
                    [*self._behind(one, session), *self._behind(other, session)],
                )

    def _overfull_properties(
        self, session: SessionKey, there: Sequence[Seat]
    ) -> Iterator[Violation]:
        for place in self.problem.properties:
            if place.hunters_a_session is None:
                continue
            own = [
                seat
                for seat in there
                if self.problem.stand_by_id[seat.stand_id].property_id == place.id
            ]
            hunters = self._hunters(own)
            if hunters > place.hunters_a_session:
                sentence = (
                    f"{hunters} hunters on property {place.id} in "
                    f"{words.session_words(session)}; it takes {place.hunters_a_session}."
                )
                yield self._found("property_full", sentence, own)

    def _overspent_weeks(self) -> Iterator[Violation]:
        """Uses of a property from Monday to Sunday; an evening that goes on counts nothing."""
        planned: dict[tuple[str, date], list[SessionKey]] = defaultdict(list)
        seats: dict[tuple[str, date], list[Seat]] = defaultdict(list)
        for stand in self.problem.stands:
            for session in self._counted_sessions(stand):
                week = (stand.property_id, _monday(session.local_date))
                planned[week].append(session)
                seats[week] += self._behind(stand.id, session)
        property_of = {stand.id: stand.property_id for stand in self.problem.stands}
        outside = Counter(
            (property_of[use.stand_id], _monday(use.session.local_date))
            for use in self.problem.uses_outside
            if not use.continues_morning
        )
        for place in self.problem.properties:
            for (property_id, monday), sessions in planned.items():
                uses = len(sessions) + outside[property_id, monday]
                if property_id == place.id and place.uses_a_week and uses > place.uses_a_week:
                    sentence = (
                        f"Property {place.id} counts {uses} uses in the week of "
                        f"{words.day_words(monday)}; it bears {place.uses_a_week}."
                    )
                    yield self._found("pressure_budget", sentence, seats[property_id, monday])

    def _beyond_own_limits(self, member_id: str, own: Sequence[Seat]) -> Iterator[Violation]:
        member = self.problem.member_by_id[member_id]
        sits = [seat for seat in own if seat not in self.halves]
        for session, times in Counter(seat.session for seat in own).items():
            if times > 1:
                double = [seat for seat in own if seat.session == session]
                sentence = f"{member_id} has {times} seats in {words.session_words(session)}."
                yield self._found("one_stand_a_session", sentence, double)
        for day, times in Counter(seat.session.local_date for seat in sits).items():
            if times > member.sits_per_day:
                that_day = [seat for seat in sits if seat.session.local_date == day]
                sentence = f"{member_id} has {times} sits on {words.day_words(day)}."
                yield self._found("daily_limit", sentence, that_day)
        if member.sits_a_week is not None:
            held = dict(member.sits_held_by_week)
            for week, times in Counter(_monday(seat.session.local_date) for seat in sits).items():
                if times + held.get(week, 0) > member.sits_a_week:
                    that_week = [seat for seat in sits if _monday(seat.session.local_date) == week]
                    sentence = (
                        f"{member_id} has {times + held.get(week, 0)} sits in the week of "
                        f"{words.day_words(week)}."
                    )
                    yield self._found("weekly_limit", sentence, that_week)
        if len(sits) > member.sits_requested:
            sentence = f"{member_id} has {len(sits)} sits and asked for {member.sits_requested}."
            yield self._found("requested_total", sentence, sits)


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
