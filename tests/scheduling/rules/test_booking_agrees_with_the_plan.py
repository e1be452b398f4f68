"""On one snapshot, booking refuses exactly what the plan's rows forbid."""

from collections import Counter
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.sessions.kinds import SessionKey
from scheduling.rules import pressure, rest, same_wind, weekly_limit
from scheduling.rules.facts import ClaimFacts
from scheduling.rules.judge import refusals
from scheduling.rules.limits import Limits
from scheduling.rules.rows import SeatRows, UseRows
from scheduling.rules.snapshot import BookingFacts, monday_of
from scheduling.rules.uses import Use
from tests.scheduling.rules.cast import (
    ADA,
    DAY,
    evening,
    good_fit,
    limits,
    morning,
    proposal,
    session_at,
    snapshot,
    use,
)

STANDS = ("ridge", "creek")
SESSIONS = tuple(key(DAY + timedelta(days=n)) for n in range(5) for key in (morning, evening))
WEEKS, SESSION_WEEK = weekly_limit.weeks_of(SESSIONS)
OFFERED = np.ones((len(STANDS), len(SESSIONS)), dtype=np.bool_)
CODES = (rest.CODE, same_wind.CODE, pressure.WEEK_BUDGET.code, weekly_limit.WEEKLY_LIMIT.code)

Place = tuple[int, int]
"""Numbers of a stand and a session of the plan: also the seat of the one member, Ada."""


@dataclass(frozen=True, kw_only=True)
class PastSit:
    stand_id: str
    sessions: tuple[SessionKey, ...]
    sector: int
    rest_days: int | None
    is_adas: bool

    def uses(self) -> list[Use]:
        observed = tuple(1000 * (sector == self.sector) for sector in range(3))
        return [
            use(
                self.stand_id,
                key,
                sector_per_mille=observed,
                rest_days=self.rest_days,
                continues_morning=number > 0,
            )
            for number, key in enumerate(self.sessions)
        ]


@dataclass(frozen=True, kw_only=True)
class World:
    """Past sits, the forecast of every stand and session (per mille), and the limits."""

    past: tuple[PastSit, ...]
    forecast: np.ndarray
    limits: Limits

    @property
    def past_uses(self) -> tuple[Use, ...]:
        return tuple(one for sit in self.past for one in sit.uses())

    def sectors(self, place: Place) -> tuple[int, ...]:
        return tuple(self.forecast[place].tolist())

    def facts(self, plan: list[Place]) -> BookingFacts:
        planned = tuple(
            use(STANDS[stand], SESSIONS[session], sector_per_mille=self.sectors((stand, session)))
            for stand, session in plan
        )
        sits = [(sit.stand_id, sit.sessions) for sit in self.past if sit.is_adas]
        sits += [(STANDS[stand], (SESSIONS[session],)) for stand, session in plan]
        claims = tuple(
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
        return snapshot(
            uses=self.past_uses + planned,
            members=(replace(ADA, claims=claims),),
            sessions=tuple(session_at(key) for key in SESSIONS),
            fits=tuple(
                good_fit(stand_id, key, sector_per_mille=self.sectors((row, column)))
                for row, stand_id in enumerate(STANDS)
                for column, key in enumerate(SESSIONS)
            ),
        )

    def rows(self) -> dict[str, UseRows | SeatRows]:
        house = self.limits.house
        held = np.zeros((1, len(WEEKS)), dtype=np.int64)
        for sit in self.past:
            week = monday_of(sit.sessions[0].local_date).toordinal()
            held[0, week == WEEKS] += sit.is_adas
        shared = {
            "stand_ids": STANDS,
            "sessions": SESSIONS,
            "offered": OFFERED,
            "uses": self.past_uses,
        }
        every = (
            rest.rows(rest_days=np.full(len(STANDS), house.rest_days), **shared),
            same_wind.rows(
                sector_per_mille=self.forecast,
                cap=house.same_wind_cap,
                window_days=house.same_wind_window_days,
                **shared,
            ),
            pressure.rows(
                stand_property=np.zeros(len(STANDS), dtype=np.int64),
                uses_a_week=np.array([house.uses_a_week]),
                **shared,
            ),
            weekly_limit.rows(
                seat_member=np.zeros(OFFERED.size, dtype=np.int64),
                seat_session=np.tile(np.arange(len(SESSIONS)), len(STANDS)),
                seat_sits=np.ones(OFFERED.size, dtype=np.int64),
                session_week=SESSION_WEEK,
                weekly_sits=np.array([house.weekly_sits]),
                sits_held=held,
            ),
        )
        return {block.code: block for block in every}


def holds(block: UseRows | SeatRows, plan: list[Place]) -> bool:
    used = np.zeros(OFFERED.shape, dtype=np.int64)
    for place in plan:
        used[place] = 1
    taken = (
        used.ravel()[block.seat]
        if isinstance(block, SeatRows)
        else used[block.stand, block.session]
    )
    total = np.zeros(len(block.limit), dtype=np.int64)
    np.add.at(total, block.row, block.weight * taken)
    return bool((total <= block.limit).all())


def compare(world: World, order: list[Place]) -> Counter[tuple[str, bool]]:
    """Grow a plan place by place; booking and rows must say the same of each."""
    plan: list[Place] = []
    answers: Counter[tuple[str, bool]] = Counter()
    rows = world.rows()
    for stand, session in order:
        asked = proposal(stand_id=STANDS[stand], sessions=(SESSIONS[session],))
        found = refusals(asked, facts=world.facts(plan), limits=world.limits)
        refused = {refusal.code for refusal in found}.intersection(CODES)
        forbidden = {
            code for code, block in rows.items() if not holds(block, [*plan, (stand, session)])
        }
        assert refused == forbidden, (asked, plan)
        answers.update((code, code in refused) for code in CODES)
        if not refused:
            plan.append((stand, session))
    return answers


@st.composite
def past_sits(draw) -> tuple[PastSit, ...]:
    """At most one sit a stand and day, before the plan and after it."""
    days = st.sampled_from([DAY + timedelta(days=n) for n in (*range(-9, 0), 5, 6, 7)])
    places = draw(st.sets(st.tuples(st.sampled_from(STANDS), days), max_size=9))
    kinds = st.sampled_from(["morning", "evening", "all day"])
    sits = []
    for stand_id, day in sorted(places):
        keys = {
            "morning": (morning(day),),
            "evening": (evening(day),),
            "all day": (morning(day), evening(day)),
        }
        sits.append(
            PastSit(
                stand_id=stand_id,
                sessions=keys[draw(kinds)],
                sector=draw(st.integers(0, 2)),
                rest_days=draw(st.none() | st.integers(0, 5)),
                is_adas=draw(st.booleans()),
            )
        )
    return tuple(sits)


@st.composite
def worlds(draw) -> World:
    share = st.integers(0, 1000)
    cuts = [sorted((draw(share), draw(share))) for _ in range(OFFERED.size)]
    forecast = np.array([(low, high - low, 1000 - high) for low, high in cuts])
    return World(
        past=draw(past_sits()),
        forecast=forecast.reshape(*OFFERED.shape, 3),
        limits=limits(
            book_ahead_days=60,
            rest_days=draw(st.integers(0, 4)),
            same_wind_cap=draw(st.integers(1, 3)),
            same_wind_window_days=draw(st.integers(1, 8)),
            uses_a_week=draw(st.integers(0, 5)),
            weekly_sits=draw(st.integers(1, 5)),
        ),
    )


PLACES = [(stand, session) for stand in range(len(STANDS)) for session in range(len(SESSIONS))]


@settings(max_examples=150, deadline=None)
@given(worlds(), st.permutations(PLACES))
def test_booking_refuses_what_the_rows_forbid_and_nothing_else(world, order):
    compare(world, order)


def test_each_rule_both_allows_and_refuses_so_that_agreement_means_something():
    steady = np.tile(np.array([900, 100, 0]), (len(STANDS), len(SESSIONS), 1))
    yesterday = PastSit(
        stand_id="ridge",
        sessions=(morning(DAY - timedelta(days=1)), evening(DAY - timedelta(days=1))),
        sector=0,
        rest_days=None,
        is_adas=True,
    )
    answers: Counter[tuple[str, bool]] = Counter()
    for spent in ({"uses_a_week": 2, "weekly_sits": 9}, {"uses_a_week": 9, "weekly_sits": 2}):
        tight = limits(book_ahead_days=60, rest_days=2, same_wind_cap=1, **spent)
        answers += compare(World(past=(yesterday,), forecast=steady, limits=tight), PLACES)
    assert all(answers[code, refused] > 0 for code in CODES for refused in (True, False))
