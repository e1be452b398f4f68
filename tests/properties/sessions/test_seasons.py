"""Which seasons cover a date, and how far the peak of breeding is."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.sessions.seasons import (
    BreedingPeak,
    Season,
    seasons_covering,
    weapons_permitted,
)

BOW = Season(
    name="Bow",
    first_on=date(2024, 9, 15),
    last_on=date(2025, 1, 15),
    weapons=frozenset({"bow", "crossbow"}),
)
RIFLE = Season(
    name="Firearms",
    first_on=date(2024, 11, 16),
    last_on=date(2024, 11, 26),
    weapons=frozenset({"rifle"}),
)


def test_both_ends_of_a_season_are_open():
    assert RIFLE.covers(date(2024, 11, 16))
    assert RIFLE.covers(date(2024, 11, 26))
    assert not RIFLE.covers(date(2024, 11, 15))
    assert not RIFLE.covers(date(2024, 11, 27))


def test_seasons_that_overlap_permit_the_weapons_of_each():
    day = date(2024, 11, 20)
    assert seasons_covering([RIFLE, BOW], day) == (BOW, RIFLE)
    assert weapons_permitted([RIFLE, BOW], day) == {"bow", "crossbow", "rifle"}


def test_outside_every_season_nothing_is_permitted():
    assert seasons_covering([RIFLE, BOW], date(2025, 6, 1)) == ()
    assert weapons_permitted([RIFLE, BOW], date(2025, 6, 1)) == frozenset()


def test_a_season_cannot_end_before_it_begins():
    with pytest.raises(ValueError, match="Bow ends on"):
        Season(name="Bow", first_on=date(2024, 2, 1), last_on=date(2024, 1, 1), weapons=frozenset())


def test_the_peak_is_counted_from_the_nearest_year():
    peak = BreedingPeak(usual="11-13")
    assert peak.days_after(date(2024, 11, 1)) == -12
    assert peak.days_after(date(2025, 1, 2)) == 50
    assert peak.nearest(date(2025, 1, 2)) == date(2024, 11, 13)
    assert peak.nearest(date(2025, 7, 1)) == date(2025, 11, 13)


def test_a_year_known_to_differ_is_used_for_that_year_only():
    peak = BreedingPeak(usual="11-13", by_year={2024: date(2024, 11, 8)})
    assert peak.in_year(2024) == date(2024, 11, 8)
    assert peak.in_year(2025) == date(2025, 11, 13)
    assert peak.days_after(date(2024, 11, 13)) == 5


def test_a_peak_in_january_belongs_to_the_season_around_it():
    peak = BreedingPeak(usual="01-15")
    assert peak.days_after(date(2024, 12, 20)) == -26


def test_a_peak_on_29_february_exists_every_year():
    peak = BreedingPeak(usual="02-29")
    assert peak.in_year(2023) == date(2023, 2, 28)
    assert peak.in_year(2024) == date(2024, 2, 29)


@pytest.mark.parametrize("usual", ["02-30", "13-01", "1113", "", "11-xx"])
def test_a_peak_that_is_no_day_is_refused(usual):
    with pytest.raises(ValueError, match="no MM-DD"):
        BreedingPeak(usual=usual)


def test_an_exception_under_the_wrong_year_is_refused():
    with pytest.raises(ValueError, match="not in 2023"):
        BreedingPeak(usual="11-13", by_year={2023: date(2024, 11, 8)})


@given(st.dates(min_value=date(1990, 1, 1), max_value=date(2050, 1, 1)))
def test_no_date_is_farther_than_half_a_year_from_a_peak(on):
    peak = BreedingPeak(usual="11-13")
    assert abs(peak.days_after(on)) <= 183
    assert peak.nearest(on) + timedelta(days=peak.days_after(on)) == on
