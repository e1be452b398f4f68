"""Years that begin in a month of their own: every day lies in exactly one, as each MM-DD does."""

from datetime import date, timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from properties.land.years import checked_month_day, day_in_year, first_day_of, year_of


@pytest.mark.parametrize(
    ("day", "first_month", "year"),
    [
        (date(2025, 6, 30), 7, 2024),
        (date(2025, 7, 1), 7, 2025),
        (date(2026, 1, 15), 7, 2025),
        (date(2025, 1, 1), 1, 2025),
        (date(2025, 12, 31), 1, 2025),
        (date(2025, 11, 30), 12, 2024),
        (date(2025, 12, 1), 12, 2025),
    ],
)
def test_a_year_is_named_by_the_calendar_year_in_which_it_began(day, first_month, year):
    assert year_of(day, first_month=first_month) == year


@given(
    day=st.dates(min_value=date(1990, 1, 1), max_value=date(2090, 12, 31)),
    first_month=st.integers(1, 12),
)
def test_every_day_lies_between_the_first_days_of_its_year_and_of_the_next(day, first_month):
    year = year_of(day, first_month=first_month)

    assert first_day_of(year, first_month=first_month) <= day
    assert day < first_day_of(year + 1, first_month=first_month)
    last = first_day_of(year + 1, first_month=first_month) - timedelta(days=1)
    assert year_of(last, first_month=first_month) == year


@given(
    day=st.dates(min_value=date(1990, 1, 1), max_value=date(2090, 12, 31)),
    first_month=st.integers(1, 12),
)
def test_a_day_of_the_year_lies_in_the_year_that_is_asked_for(day, first_month):
    assume((day.month, day.day) != (2, 29))
    year = year_of(day, first_month=first_month)

    assert day_in_year(checked_month_day(f"{day:%m-%d}"), year, first_month=first_month) == day


@pytest.mark.parametrize(
    "text", ["02-29", "13-01", "8-15", "00-10", "x", "W10", "W10-1", "08-15\n", "٠٨-١٥"]
)
def test_a_day_that_some_year_lacks_and_a_week_are_no_day_of_the_year(text):
    with pytest.raises(ValueError, match=r".+"):
        checked_month_day(text)
