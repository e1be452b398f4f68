"""The booking window and a member's obligations, which a plan does not ask for."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from scheduling.rules.facts import MissedSit, MissingReport
from tests.scheduling.rules.cast import (
    ADA,
    DAY,
    FARM,
    GUEST,
    NOW,
    evening,
    good_fit,
    judged,
    morning,
    proposal,
    session_at,
)

STARTS = session_at(evening()).starts_at
ENDS = session_at(evening()).ends_at


@pytest.mark.parametrize(("ahead", "is_refused"), [(4, False), (3, True)])
def test_a_session_is_booked_so_many_days_ahead_and_no_farther(ahead, is_refused):
    found = judged(house={"book_ahead_days": ahead})  # the 14th as seen from the 10th
    assert ("too_far_ahead" in found) is is_refused
    if is_refused:
        assert "4 days ahead" in found["too_far_ahead"].sentence
        assert "Ridge can be booked 3 days ahead" in found["too_far_ahead"].sentence


def test_days_ahead_are_counted_on_the_propertys_own_calendar():
    just_after_midnight_utc = datetime(2026, 11, 11, 3, tzinfo=UTC)  # still the 10th in Chicago
    ahead = {"book_ahead_days": 3}
    assert "too_far_ahead" in judged(now=just_after_midnight_utc, house=ahead)
    greenwich = (replace(FARM, time_zone="Europe/London"),)
    assert "too_far_ahead" not in judged(
        now=just_after_midnight_utc, house=ahead, properties=greenwich
    )


@pytest.mark.parametrize(
    ("now", "code"),
    [
        (STARTS - timedelta(minutes=30), None),
        (STARTS - timedelta(minutes=30) + timedelta(seconds=1), "too_late"),
        (ENDS - timedelta(seconds=1), "too_late"),
        (ENDS, "session_over"),
    ],
)
def test_booking_closes_before_the_session_and_ends_with_it(now, code):
    found = judged(now=now)
    assert set(found) == ({code} if code else set())
    if code == "too_late":
        assert "ended 30 minutes before the session's start at 14:00 CST" in found[code].sentence


def test_a_session_that_is_over_is_not_for_a_manager_to_overrule():
    assert judged(now=STARTS)["too_late"].overrulable
    assert not judged(now=ENDS)["session_over"].overrulable


def test_an_all_day_sit_is_too_late_once_its_morning_is():
    all_day = proposal(sessions=(morning(), evening()))
    during_morning = session_at(morning()).starts_at + timedelta(minutes=1)
    assert judged(now=during_morning) == {}
    assert judged(all_day, now=during_morning)["too_late"].facts["session"] == "morning"


def test_the_clocks_going_back_moves_no_booking_by_a_day():
    sunday = date(2026, 11, 1)  # daylight saving ends in Chicago
    late_on_saturday = datetime(2026, 11, 1, 4, 30, tzinfo=UTC)  # 23:30 on 31 October there
    found = judged(
        proposal(sessions=(evening(sunday),)),
        now=late_on_saturday,
        house={"book_ahead_days": 0},
        sessions=(session_at(evening(sunday)),),
        fits=(good_fit("ridge", evening(sunday)),),
    )
    assert found["too_far_ahead"].facts["days_ahead"] == 1


def with_ada(**changes):
    return {"members": (replace(ADA, **changes), GUEST)}


MISSED = MissedSit(local_date=DAY - timedelta(days=20), stand_name="Creek")


def test_a_missed_sit_is_settled_before_the_next_is_booked():
    refusal = judged(**with_ada(missed_sits=(MISSED,)))["missed_sits"]
    for part in ("Ada Long", "1 missed", "Creek on 25 Oct 2026", "allows 0"):
        assert part in refusal.sentence
    assert judged(**with_ada(missed_sits=(MISSED,)), house={"missed_sits_allowed": 1}) == {}


@pytest.mark.parametrize(("hours_ago", "is_owed"), [(48, False), (48.01, True)])
def test_a_report_is_owed_after_its_hours_and_not_before(hours_ago, is_owed):
    report = MissingReport(
        local_date=date(2026, 11, 8),
        stand_name="Creek",
        ended_at=NOW - timedelta(hours=hours_ago),
    )
    found = judged(**with_ada(missing_reports=(report,)))
    assert ("missing_reports" in found) is is_owed
    if is_owed:
        assert "Ada Long owes 1" in found["missing_reports"].sentence
        assert "Creek on 08 Nov 2026" in found["missing_reports"].sentence
