"""Weeks and anchors. Weeks are checked against examples of the definition in ISO 8601: week 1 holds
the year's first Thursday (https://www.iso.org/iso-8601-date-and-time-format.html)."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.worklist.practice import COMMON_YEAR
from scheduling.worklist.weeks import (
    Anchor,
    Span,
    anchored_on,
    monday_of,
    week_name,
    week_on,
)

PEAKS = (date(2025, 11, 12), date(2026, 11, 12))
SEASONS = (
    Span(first_on=date(2025, 10, 1), last_on=date(2025, 11, 14)),
    Span(first_on=date(2025, 11, 22), last_on=date(2026, 1, 6)),
    Span(first_on=date(2026, 10, 1), last_on=date(2027, 1, 6)),
)


@pytest.mark.parametrize(
    ("day", "name"),
    [
        (date(2025, 12, 29), "2026-W01"),  # a Monday whose Thursday is 1 January 2026
        (date(2026, 1, 1), "2026-W01"),
        (date(2027, 1, 3), "2026-W53"),  # 2026 begins on a Thursday and has 53 weeks
        (date(2025, 11, 3), "2025-W45"),
    ],
)
def test_a_week_is_named_after_the_year_of_its_thursday(day, name):
    assert week_name(day) == name
    assert monday_of(name) == week_on(day)


@given(st.dates(min_value=date(1990, 1, 1), max_value=date(2100, 1, 1)))
def test_every_day_lies_in_the_week_of_its_name(day):
    monday = monday_of(week_name(day))
    assert 0 <= (day - monday).days < 7
    assert monday.isoweekday() == 1


@pytest.mark.parametrize("text", ["2025-W54", "2025-W00", "2025-45", "W45", "2025-W5", ""])
def test_what_is_no_week_is_refused(text):
    with pytest.raises(ValueError, match=r".+"):
        monday_of(text)


def anchored(anchor, year=2025, first_month=7, **more):
    return anchored_on(
        anchor, season_year=year, first_month=first_month, peaks=PEAKS, seasons=SEASONS, **more
    )


def test_a_years_seasons_open_with_the_first_and_close_with_the_last():
    assert anchored(Anchor.SEASON_OPENS) == date(2025, 10, 1)
    assert anchored(Anchor.SEASON_CLOSES) == date(2026, 1, 6)
    assert anchored(Anchor.SEASON_OPENS, 2026) == date(2026, 10, 1)
    assert anchored(Anchor.SEASON_CLOSES, 2027) is None


def test_the_peak_is_that_of_the_seasons_year_also_where_it_lies_in_the_new_calendar_year():
    assert anchored(Anchor.PEAK) == date(2025, 11, 12)
    southern = anchored_on(
        Anchor.PEAK,
        season_year=2025,
        first_month=7,
        peaks=(date(2025, 1, 20), date(2026, 1, 20)),
        seasons=(),
    )
    assert southern == date(2026, 1, 20)


def test_a_day_of_the_year_lies_on_either_side_of_new_year():
    assert anchored(Anchor.DAY, month_day="08-15") == date(2025, 8, 15)
    assert anchored(Anchor.DAY, month_day="02-01") == date(2026, 2, 1)
    assert anchored(Anchor.DAY, month_day="07-01") == date(2025, 7, 1)
    assert anchored(Anchor.DAY, month_day="06-30") == date(2026, 6, 30)


def test_the_common_year_has_each_line_once_and_all_the_work_that_a_manager_names():
    assert len({line.key for line in COMMON_YEAR}) == len(COMMON_YEAR)
    assert {line.task.value for line in COMMON_YEAR} >= {
        "inspect",
        "survey",
        "build",
        "hang_cameras",
        "first_scent",
        "refresh",
        "open",
        "close",
        "collect_data",
        "harvest_figures",
        "landowner_summary",
        "renew_lease",
    }
