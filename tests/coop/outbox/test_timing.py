"""Quiet hours and the daily digest, by the reader's own clocks."""

from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.outbox.timing import Departure, ReaderHours, departure, is_quiet

CHICAGO = ZoneInfo("America/Chicago")
NIGHT = ReaderHours(zone=CHICAGO, quiet_from=time(21), quiet_until=time(6))
DAILY = ReaderHours(zone=CHICAGO, digest_at=time(7))


def at(day: int, hour: int, minute: int = 0, month: int = 11) -> datetime:
    return datetime(2025, month, day, hour, minute, tzinfo=CHICAGO).astimezone(UTC)


def test_without_a_wish_a_notice_leaves_at_once():
    now = at(3, 23)
    assert departure(now, ReaderHours(zone=CHICAGO)) == Departure(at=now, together=False)


@pytest.mark.parametrize(
    ("now", "leaves"),
    [
        (at(3, 20, 59), at(3, 20, 59)),
        (at(3, 21), at(4, 6)),
        (at(4, 2), at(4, 6)),
        (at(4, 6), at(4, 6)),
    ],
)
def test_quiet_hours_run_over_midnight_and_hold_a_notice_to_their_end(now, leaves):
    assert departure(now, NIGHT).at == leaves
    assert departure(now, NIGHT).together is (now != leaves)


def test_a_digest_leaves_once_a_day():
    assert departure(at(3, 6), DAILY) == Departure(at=at(3, 7), together=True)
    assert departure(at(3, 8), DAILY) == Departure(at=at(4, 7), together=True)


def test_a_digest_inside_quiet_hours_waits_for_their_end():
    both = ReaderHours(
        zone=CHICAGO, digest_at=time(5), quiet_from=time(21), quiet_until=time(6, 30)
    )
    assert departure(at(3, 12), both).at == at(4, 6, 30)


def test_the_night_on_which_clocks_go_back_is_an_hour_longer():
    assert departure(at(1, 22), NIGHT).at - at(1, 22) == at(2, 22) - at(1, 22) - (
        at(4, 22) - at(4, 6)
    )
    # 22:00 CDT to 06:00 CST: nine hours pass.
    assert (departure(at(1, 22), NIGHT).at - at(1, 22)).total_seconds() == 9 * 3600


@given(
    now=st.datetimes(
        min_value=datetime(2025, 1, 1), max_value=datetime(2026, 12, 31), timezones=st.just(UTC)
    ),
    begins=st.times(),
    ends=st.times(),
)
def test_a_notice_never_leaves_early_nor_in_quiet_hours(now, begins, ends):
    hours = ReaderHours(zone=CHICAGO, quiet_from=begins, quiet_until=ends)
    leaving = departure(now, hours).at
    assert leaving >= now
    # An hour that clocks go through twice may be quiet both times.
    assert not is_quiet(leaving, hours) or abs(leaving.astimezone(CHICAGO).hour - 1) <= 1
