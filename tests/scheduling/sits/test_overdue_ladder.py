"""The pure ladder of asking after somebody overdue: a table of marks and clocks, and its laws."""

from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.sits.overdue_ladder import (
    LAST_RUNG,
    Ladder,
    Pace,
    Rung,
    Watched,
    answered,
    asked_again,
    managers_are_alarmed,
    next_rung,
    rung_due,
)
from scheduling.sits.settings import SitSettings
from tests.cast import NOW

MINUTE = timedelta(minutes=1)
HUNTER, MANAGERS, CALL = Rung

# Expected back at minute 0, with a margin of 30 minutes and steps of 20: the minutes at which
# rungs were raised, whether somebody has answered; the rung that comes next and from when.
NEXT = [
    ("nobody asked yet", {}, False, (HUNTER, 30)),
    ("hunter asked in time", {HUNTER: 30}, False, (MANAGERS, 50)),
    ("hunter asked late, after an outage", {HUNTER: 400}, False, (MANAGERS, 420)),
    ("managers told in time", {HUNTER: 30, MANAGERS: 50}, False, (CALL, 70)),
    ("managers told late", {HUNTER: 30, MANAGERS: 90}, False, (CALL, 110)),
    ("everybody asked", {HUNTER: 30, MANAGERS: 50, CALL: 70}, False, None),
    ("answered before anybody asked", {}, True, None),
    ("answered by the hunter", {HUNTER: 30}, True, None),
    ("answered by a manager", {HUNTER: 30, MANAGERS: 50}, True, None),
    ("answered after the call", {HUNTER: 30, MANAGERS: 50, CALL: 70}, True, None),
]


def ladder_of(minutes, *, margin=30, step=20, is_answered=False):
    return Ladder(
        expected_by=NOW,
        pace=Pace(margin=margin * MINUTE, step=step * MINUTE),
        raised_at={rung: NOW + minute * MINUTE for rung, minute in minutes.items()},
        is_answered=is_answered,
    )


@pytest.mark.parametrize(
    ("raised", "is_answered", "expected"),
    [row[1:] for row in NEXT],
    ids=[row[0] for row in NEXT],
)
def test_the_next_rung_and_when_it_is_due(raised, is_answered, expected):
    ladder = ladder_of(raised, is_answered=is_answered)

    if expected is None:
        assert next_rung(ladder) is None
        assert rung_due(ladder, now=NOW + timedelta(days=9)) is None
        return
    rung, minute = expected
    due_at = NOW + minute * MINUTE
    assert next_rung(ladder) == (rung, due_at)
    assert rung_due(ladder, now=due_at - timedelta(microseconds=1)) is None
    assert rung_due(ladder, now=due_at) is rung
    assert rung_due(ladder, now=due_at + timedelta(days=9)) is rung, "one rung at a time"


@pytest.mark.parametrize(
    ("raised", "alarmed"), [((), False), ((HUNTER,), False), ((HUNTER, MANAGERS), True)]
)
def test_an_answer_is_told_to_managers_who_were_alarmed_and_to_nobody_else(raised, alarmed):
    assert managers_are_alarmed(dict.fromkeys(raised, NOW)) is alarmed
    # Marks read from the database are keyed by plain numbers.
    assert managers_are_alarmed({rung.value: NOW for rung in raised}) is alarmed


def test_marks_of_plain_numbers_are_the_same_marks():
    assert next_rung(ladder_of({1: 30, 2: 50})) == next_rung(ladder_of({HUNTER: 30, MANAGERS: 50}))


def test_the_pace_is_what_the_settings_say():
    settings = SitSettings(overdue_margin_min=45, overdue_step_min=7.5)
    assert Pace.of(settings) == Pace(margin=45 * MINUTE, step=7.5 * MINUTE)


def test_the_numbers_and_labels_of_the_rungs_stay_as_they_are_stored():
    assert [(rung.value, rung.label) for rung in Rung] == [
        (1, "hunter"),
        (2, "managers"),
        (3, "emergency_contact"),
    ]
    assert LAST_RUNG is list(Rung)[-1]


def test_an_acknowledgement_keeps_who_and_when_and_a_later_time_takes_it_back():
    assert answered(by="M" * 300, now=NOW) == {
        "acknowledged_at": NOW,
        "acknowledged_by": "M" * 200,
    }
    later = asked_again(ladder_number=3, back_by=NOW)
    assert later == {
        "back_by": NOW,
        "ladder_number": 4,
        "acknowledged_at": None,
        "acknowledged_by": "",
    }


def test_a_watch_counts_those_looked_at_each_rung_and_those_still_waiting():
    done = Watched.of([HUNTER, None, HUNTER, CALL, None])

    assert done.as_result() == {
        "looked_at": 5,
        "raised": {"hunter": 2, "managers": 0, "emergency_contact": 1},
        "still_waiting": 2,
    }
    assert Watched.of([]).as_result()["looked_at"] == 0


@given(looks=st.lists(st.integers(0, 600), max_size=40), step=st.integers(5, 60))
def test_however_irregular_the_looks_each_rung_comes_once_in_order_and_a_step_apart(looks, step):
    raised = {}
    for minute in sorted(looks):
        due = rung_due(ladder_of(raised, step=step), now=NOW + minute * MINUTE)
        if due is not None:
            assert due not in raised
            raised[due] = minute

    assert tuple(raised) == tuple(Rung)[: len(raised)]
    times = list(raised.values())
    assert all(time >= 30 for time in times[:1])
    assert all(b - a >= step for a, b in pairwise(times))


@given(
    raised=st.dictionaries(st.sampled_from(Rung), st.integers(0, 600)),
    minute=st.integers(0, 2000),
)
def test_whatever_the_marks_an_answer_silences_every_rung(raised, minute):
    silent = ladder_of(raised, is_answered=True)
    assert rung_due(silent, now=NOW + minute * MINUTE) is None
