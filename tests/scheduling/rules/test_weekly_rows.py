"""The rows that the weekly rules give a plan: what they count, and where they are silent."""

from datetime import date, timedelta

import numpy as np

from properties.sessions.kinds import SessionKey
from scheduling.rules import pressure, weekly_limit
from scheduling.rules.rows import SeatRows, UseRows
from scheduling.rules.snapshot import monday_of
from tests.scheduling.rules.cast import DAY, evening, morning, use

SUNDAY, MONDAY = DAY + timedelta(days=1), DAY + timedelta(days=2)
SESSIONS = (evening(DAY), evening(SUNDAY), evening(MONDAY))


def budget_rows(*, uses=(), uses_a_week=1, offered=None) -> UseRows:
    return pressure.rows(
        stand_ids=("ridge", "creek"),
        stand_property=np.array([0, 0]),
        sessions=SESSIONS,
        offered=np.ones((2, 3), dtype=np.bool_) if offered is None else offered,
        uses_a_week=np.array([uses_a_week]),
        uses=uses,
    )


def test_weeks_break_between_sunday_and_monday():
    weeks, week = weekly_limit.weeks_of(SESSIONS)
    assert [date.fromordinal(monday) for monday in weeks] == [date(2026, 11, 9), MONDAY]
    assert week.tolist() == [0, 0, 1]


def test_a_budget_gives_each_week_a_row_over_all_stands():
    rows = budget_rows()
    assert rows.limit.tolist() == [1, 1]
    entries = sorted(
        zip(rows.row.tolist(), rows.stand.tolist(), rows.session.tolist(), strict=True)
    )
    assert entries == [(0, 0, 0), (0, 0, 1), (0, 1, 0), (0, 1, 1), (1, 0, 2), (1, 1, 2)]
    assert (rows.weight == 1).all()


def test_uses_before_the_plan_spend_the_budget_of_their_own_week():
    friday = DAY - timedelta(days=1)
    last_week = DAY - timedelta(days=7)
    all_day: tuple[SessionKey, SessionKey] = (morning(friday), evening(friday))
    uses = (
        use("creek", all_day[0]),
        use("creek", all_day[1], continues_morning=True),
        use("ridge", evening(last_week)),
    )
    assert budget_rows(uses=uses, uses_a_week=2).limit.tolist() == [1]
    assert budget_rows(uses=uses, uses_a_week=1).limit.tolist() == [0, 1]


def test_an_overspent_week_leaves_nothing_and_not_less():
    uses = tuple(use("ridge", evening(DAY - timedelta(days=n))) for n in (1, 2, 3))
    assert budget_rows(uses=uses, uses_a_week=1).limit.tolist() == [0, 1]


def test_a_budget_that_cannot_bind_and_no_budget_give_no_rows():
    assert len(budget_rows(uses_a_week=4).limit) == 0
    assert len(budget_rows(uses_a_week=0).limit) == 0
    nothing_offered = np.zeros((2, 3), dtype=np.bool_)
    assert len(budget_rows(offered=nothing_offered).limit) == 0


def week_rows(held: list[int], weekly_sits=1) -> SeatRows:
    _, session_week = weekly_limit.weeks_of(SESSIONS)
    return weekly_limit.rows(
        seat_member=np.array([0, 0, 0, 0]),
        seat_session=np.array([0, 1, 1, 2]),
        seat_sits=np.array([1, 1, 0, 1]),
        session_week=session_week,
        weekly_sits=np.array([weekly_sits]),
        sits_held=np.array([held]),
    )


def test_a_members_week_counts_their_seats_and_what_they_hold_already():
    rows = week_rows([0, 0])
    assert rows.limit.tolist() == [1]
    assert dict(zip(rows.seat.tolist(), rows.weight.tolist(), strict=True)) == {0: 1, 1: 1, 2: 0}
    assert week_rows([1, 1]).limit.tolist() == [0, 0]
    assert week_rows([5, 0]).limit.tolist() == [0]
    assert len(week_rows([0, 0], weekly_sits=2).limit) == 0


def planned(held_by_week, *own_uses, weekly_sits=2):
    return weekly_limit.planned_refusal(
        session=evening(DAY),
        own_uses=own_uses,
        held_by_week=held_by_week,
        weekly_sits=weekly_sits,
    )


def test_a_week_is_full_by_what_is_planned_in_it_and_what_is_held_in_it():
    here, (last, next_) = monday_of(DAY), (DAY - timedelta(days=7), MONDAY)
    friday = DAY - timedelta(days=1)
    all_day = use("ridge", morning(friday)), use("ridge", evening(friday), continues_morning=True)

    assert planned(((next_, 2),), use("ridge", morning(DAY)), use("ridge", evening(last))) is None
    assert planned((), *all_day) is None
    assert planned(((here, 1),), *all_day).facts["sits"] == 2
    assert planned((), use("ridge", morning(friday)), use("creek", morning(DAY))) is not None
    assert planned(((here, 9),), weekly_sits=None) is None


def spent(*uses, uses_a_week=2, is_used=False):
    return pressure.planned_refusal(
        session=evening(DAY),
        uses_on_property=uses,
        is_used=is_used,
        uses_a_week=uses_a_week,
        property_name="North",
    )


def test_a_budget_is_spent_by_uses_of_its_own_week_and_a_stand_in_use_costs_no_more():
    friday = DAY - timedelta(days=1)
    all_day = use("ridge", morning(friday)), use("ridge", evening(friday), continues_morning=True)
    another = use("creek", morning(DAY))

    assert spent(*all_day, use("creek", evening(MONDAY))) is None
    assert spent(*all_day, another).facts["uses"] == 2
    assert spent(*all_day, another, is_used=True) is None
    assert spent(*all_day, another, uses_a_week=0) is None
