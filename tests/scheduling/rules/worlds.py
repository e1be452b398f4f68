"""Random pasts, forecasts and limits, as facts for a booking and as rows for a plan."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import product
from typing import NamedTuple

import numpy as np
from hypothesis import strategies as st

from properties.sessions.kinds import SessionKey
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
from scheduling.rules.facts import ClaimFacts, Exclusion
from scheduling.rules.limits import Limits
from scheduling.rules.rows import SeatRows, UseRows
from scheduling.rules.snapshot import BookingFacts, monday_of
from scheduling.rules.uses import Use
from tests.scheduling.rules.cast import (
    ADA,
    CREEK,
    DAY,
    FARM,
    GUEST,
    RIDGE,
    evening,
    good_fit,
    limits,
    morning,
    session_at,
    snapshot,
    use,
)

MEMBERS = ("ada", "ben")
STANDS = ("ridge", "creek")
# Alone; with a guest; with another who is a young hunter on the plan's first two days.
PARTIES = ((), ("gus",), ("yan",))
YOUTH_UNTIL = DAY + timedelta(days=1)
SESSIONS = tuple(key(DAY + timedelta(days=n)) for n in range(4) for key in (morning, evening))
SESSION_DAY = np.array([key.local_date.toordinal() for key in SESSIONS])
WEEKS, SESSION_WEEK = weekly_limit.weeks_of(SESSIONS)
OFFERED = np.ones((len(STANDS), len(SESSIONS)), dtype=np.bool_)


class Seat(NamedTuple):
    """Numbers of a member, a stand, a session and a party of the plan."""

    member: int
    stand: int
    session: int
    party: int = 0

    @property
    def guests(self) -> tuple[str, ...]:
        return PARTIES[self.party]

    @property
    def guests_counted(self) -> int:
        is_youth = "yan" in self.guests and SESSIONS[self.session].local_date <= YOUTH_UNTIL
        return len(self.guests) - is_youth


SEATS = [
    Seat(*numbers)
    for numbers in product(
        range(len(MEMBERS)), range(len(STANDS)), range(len(SESSIONS)), range(len(PARTIES))
    )
]
SEAT_MEMBER, SEAT_STAND, SEAT_SESSION, SEAT_PARTY = np.array(SEATS, dtype=np.int64).T
SEAT_HUNTERS = 1 + np.array([len(seat.guests) for seat in SEATS])


@dataclass(frozen=True, kw_only=True)
class PastSit:
    """Outside the plan: before it, or booked after it; two sessions are all day."""

    member_id: str
    stand_id: str
    sessions: tuple[SessionKey, ...]
    sector: int
    rest_days: int | None

    def uses(self) -> Iterator[Use]:
        observed = tuple(1000 * (sector == self.sector) for sector in range(3))
        for number, key in enumerate(self.sessions):
            yield use(
                self.stand_id,
                key,
                sector_per_mille=observed,
                rest_days=self.rest_days,
                continues_morning=number > 0,
            )


@dataclass(frozen=True, kw_only=True)
class World:
    """``forecast`` per mille has shape (stands, sessions, sectors).

    ``excluded`` are the sessions in which the two stands exclude each other. ``guest_sits``
    are the dates and hosts of guests' sits outside the plan.
    """

    past: tuple[PastSit, ...]
    forecast: np.ndarray
    excluded: frozenset[int]
    seats: int
    limits: Limits
    guest_sits: tuple[tuple[date, str], ...] = ()

    @property
    def past_uses(self) -> tuple[Use, ...]:
        return tuple(one for sit in self.past for one in sit.uses())

    def facts(self, plan: list[Seat]) -> BookingFacts:
        return snapshot(
            uses=self.past_uses + self._planned_uses(plan),
            properties=(replace(FARM, guest_sits=self.guest_sits + _guest_sits(plan)),),
            members=(
                *(
                    replace(ADA, member_id=member_id, claims=self._claims(member_id, plan))
                    for member_id in MEMBERS
                ),
                replace(GUEST, claims=self._claims("gus", plan)),
                replace(
                    GUEST,
                    member_id="yan",
                    claims=self._claims("yan", plan),
                    youth_until=YOUTH_UNTIL,
                ),
            ),
            stands=(replace(RIDGE, seats=self.seats), replace(CREEK, seats=self.seats)),
            sessions=tuple(session_at(key) for key in SESSIONS),
            fits=tuple(
                good_fit(stand_id, key, sector_per_mille=self._sectors(row, column))
                for row, stand_id in enumerate(STANDS)
                for column, key in enumerate(SESSIONS)
            ),
            exclusions=tuple(
                Exclusion(stand_id="ridge", other_stand_id="creek", session=SESSIONS[session])
                for session in self.excluded
            ),
        )

    def _sectors(self, stand: int, session: int) -> tuple[int, ...]:
        return tuple(self.forecast[stand, session].tolist())

    def _planned_uses(self, plan: list[Seat]) -> tuple[Use, ...]:
        places = [(seat.stand, seat.session) for seat in plan for _ in (0, *seat.guests)]
        return tuple(
            use(
                STANDS[stand],
                SESSIONS[session],
                sector_per_mille=self._sectors(stand, session),
                hunters=places.count((stand, session)),
            )
            for stand, session in set(places)
        )

    def _claims(self, member_id: str, plan: list[Seat]) -> tuple[ClaimFacts, ...]:
        sits = [(sit.stand_id, sit.sessions) for sit in self.past if sit.member_id == member_id]
        sits += [
            (STANDS[seat.stand], (SESSIONS[seat.session],))
            for seat in plan
            if member_id in (MEMBERS[seat.member], *seat.guests)
        ]
        return tuple(
            ClaimFacts(
                sit_id=str(number),
                stand_id=stand_id,
                stand_name=stand_id,
                property_id="farm",
                session=key,
            )
            for number, (stand_id, keys) in enumerate(sits)
            for key in keys
        )

    def rows(self) -> tuple[UseRows | SeatRows, ...]:
        one_session, one_day, _ = member_limits.rows(
            seat_member=SEAT_MEMBER,
            seat_session=SEAT_SESSION,
            seat_sits=np.ones(len(SEATS), dtype=np.int64),
            session_day=SESSION_DAY,
            sits_per_day=np.full(len(MEMBERS), self.limits.house.sits_a_day),
            sits_requested=np.full(len(MEMBERS), len(SEATS)),
        )
        return (
            *self._use_rows(),
            *self._place_rows(),
            one_session,
            one_day,
            self._week_rows(),
            *self._guest_rows(),
        )

    def _guest_rows(self) -> Iterator[SeatRows]:
        brought = np.flatnonzero(SEAT_PARTY)
        yield own_claim.guest_rows(
            seat=brought, person=SEAT_PARTY[brought], session=SEAT_SESSION[brought]
        )
        held = [
            (0, on.year - (on.month < FARM.year_first_month), MEMBERS.index(host), 1)
            for on, host in self.guest_sits
        ]
        yield from guest_caps.rows(
            seat_host=SEAT_MEMBER,
            seat_property=np.zeros(len(SEATS), dtype=np.int64),
            seat_year=np.full(len(SEATS), DAY.year),
            seat_guests=np.array([seat.guests_counted for seat in SEATS]),
            cap_of_host=np.array([self.limits.house.guest_sits_a_host]),
            cap_of_property=np.array([self.limits.house.guest_sits_a_property]),
            held=np.array(held, dtype=np.int64).reshape(-1, 4),
        )

    def _use_rows(self) -> Iterator[UseRows]:
        house = self.limits.house
        shared = {
            "stand_ids": STANDS,
            "sessions": SESSIONS,
            "offered": OFFERED,
            "uses": self.past_uses,
        }
        yield rest.rows(rest_days=np.full(len(STANDS), house.rest_days), **shared)
        yield same_wind.rows(
            sector_per_mille=self.forecast,
            cap=house.same_wind_cap,
            window_days=house.same_wind_window_days,
            **shared,
        )
        yield pressure.rows(
            stand_property=np.zeros(len(STANDS), dtype=np.int64),
            uses_a_week=np.array([house.uses_a_week]),
            **shared,
        )
        yield exclusion.rows(
            pair_stand=np.array([(0, 1) for _ in self.excluded], dtype=np.int64).reshape(-1, 2),
            pair_session=np.array(sorted(self.excluded), dtype=np.int64),
            offered=OFFERED,
        )

    def _place_rows(self) -> Iterator[SeatRows]:
        shared = {
            "seat_session": SEAT_SESSION,
            "seat_hunters": SEAT_HUNTERS,
            "sessions": len(SESSIONS),
        }
        yield capacity.rows(
            seat_stand=SEAT_STAND, capacity=np.full(len(STANDS), self.seats), **shared
        )
        yield property_cap.rows(
            seat_property=np.zeros(len(SEATS), dtype=np.int64),
            cap=np.array([self.limits.house.hunters_a_session or -1]),
            **shared,
        )

    def _week_rows(self) -> SeatRows:
        held = np.zeros((len(MEMBERS), len(WEEKS)), dtype=np.int64)
        for sit in self.past:
            week = monday_of(sit.sessions[0].local_date).toordinal()
            held[MEMBERS.index(sit.member_id), week == WEEKS] += 1
        return weekly_limit.rows(
            seat_member=SEAT_MEMBER,
            seat_session=SEAT_SESSION,
            seat_sits=np.ones(len(SEATS), dtype=np.int64),
            session_week=SESSION_WEEK,
            weekly_sits=np.full(len(MEMBERS), self.limits.house.weekly_sits),
            sits_held=held,
        )


def _guest_sits(plan: list[Seat]) -> tuple[tuple[date, str], ...]:
    return tuple(
        (SESSIONS[seat.session].local_date, MEMBERS[seat.member])
        for seat in plan
        for _ in range(seat.guests_counted)
    )


@st.composite
def past_sits(draw) -> tuple[PastSit, ...]:
    """At most one sit a stand and day, before the plan and after it."""
    days = st.sampled_from([DAY + timedelta(days=n) for n in (*range(-9, 0), 4, 5, 6)])
    places = draw(st.sets(st.tuples(st.sampled_from(STANDS), days), max_size=8))
    sits = []
    for stand_id, day in sorted(places):
        whole = (morning(day), evening(day))
        sits.append(
            PastSit(
                member_id=draw(st.sampled_from(MEMBERS)),
                stand_id=stand_id,
                sessions=draw(st.sampled_from([whole, whole[:1], whole[1:]])),
                sector=draw(st.integers(0, 2)),
                rest_days=draw(st.none() | st.integers(0, 5)),
            )
        )
    return tuple(sits)


# In this season's year and in the one before.
guests_before = st.tuples(
    st.sampled_from([DAY - timedelta(days=20), DAY - timedelta(days=200)]),
    st.sampled_from(MEMBERS),
)


@st.composite
def worlds(draw) -> World:
    seed = draw(st.integers(0, 2**32 - 1))
    cuts = np.sort(np.random.default_rng(seed).integers(0, 1001, (*OFFERED.shape, 2)))
    forecast = np.diff(cuts, axis=2, prepend=0, append=1000)
    return World(
        past=draw(past_sits()),
        forecast=forecast,
        excluded=draw(st.frozensets(st.integers(0, len(SESSIONS) - 1))),
        seats=draw(st.integers(1, 3)),
        limits=limits(
            book_ahead_days=60,
            rest_days=draw(st.integers(0, 4)),
            same_wind_cap=draw(st.integers(1, 3)),
            same_wind_window_days=draw(st.integers(1, 8)),
            uses_a_week=draw(st.integers(0, 5)),
            weekly_sits=draw(st.integers(1, 5)),
            sits_a_day=draw(st.integers(1, 2)),
            hunters_a_session=draw(st.integers(0, 3)),
            guest_sits_a_host=draw(st.integers(0, 3)),
            guest_sits_a_property=draw(st.integers(0, 4)),
        ),
        guest_sits=tuple(draw(st.lists(guests_before, max_size=3))),
    )
