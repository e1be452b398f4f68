"""Scent fades and washes out; a refresh's effect is told only where there is enough to tell."""

import math

import numpy as np
import pytest

from scrapes.care.effect import (
    BeforeAfter,
    Change,
    effect_of_refresh,
    effect_of_refreshes,
)
from scrapes.care.residue import rain_between_mm, residue
from scrapes.care.settings import CareSettings

RULES = CareSettings()
DAY = 86_400


def left(days=0.0, rain_mm=0.0):
    return residue(applied_s=0, now_s=round(days * DAY), rain_mm=rain_mm, settings=RULES)


def counted(before, after, *, nights_before=10.0, nights_after=10.0):
    return BeforeAfter(
        visits_before=before,
        use_nights_before=nights_before,
        visits_after=after,
        use_nights_after=nights_after,
    )


def test_twenty_millimetres_of_rain_remove_what_was_applied():
    assert left(rain_mm=20).washed_out
    assert left(rain_mm=20).remaining_share == 0
    assert left(rain_mm=35).remaining_share == 0
    assert "washed out" in left(rain_mm=20).sentence


def test_less_rain_takes_its_part_and_time_halves_the_rest():
    assert left().remaining_share == 1
    assert left(rain_mm=5).remaining_share == pytest.approx(0.75)
    assert left(days=7, rain_mm=10).remaining_share == pytest.approx(0.25)
    assert not left(days=300).washed_out


def test_rain_counts_from_the_application_on():
    ends = np.array([0, 3600, 7200, 10800], dtype=np.int64)
    fell = np.array([50.0, 2.0, np.nan, 3.0])
    assert rain_between_mm(ends, fell, start_s=0, end_s=10800) == 5
    assert rain_between_mm(ends, fell, start_s=0, end_s=7200) == 2
    with pytest.raises(ValueError, match="negative"):
        rain_between_mm(ends, -fell, start_s=0, end_s=10800)


def test_an_application_that_lies_ahead_is_refused():
    with pytest.raises(ValueError, match="after now"):
        residue(applied_s=10, now_s=5, rain_mm=0, settings=RULES)


def test_four_times_as_many_visits_is_more():
    """Limits as those of 20 in 10 nights against 5 in 10: 1.4568 to 13.6388 (computed with R)."""
    found = effect_of_refresh(counted(5, 20), settings=RULES)
    assert found.change is Change.MORE
    assert (found.ratio, found.low, found.high) == pytest.approx((4.0, 1.4568, 13.6388), abs=5e-5)
    assert effect_of_refresh(counted(20, 5), settings=RULES).change is Change.FEWER


def test_too_few_visits_are_too_few_to_tell():
    found = effect_of_refresh(counted(1, 4), settings=RULES)
    assert found.change is Change.TOO_FEW_TO_TELL
    assert math.isnan(found.ratio)
    assert "too few" in found.sentence
    assert effect_of_refresh(counted(2, 9, nights_before=0), settings=RULES).change is (
        Change.TOO_FEW_TO_TELL
    )


def test_a_wide_interval_around_one_is_too_few_to_tell_and_a_narrow_one_no_clear_change():
    assert effect_of_refresh(counted(5, 7), settings=RULES).change is Change.TOO_FEW_TO_TELL
    assert effect_of_refresh(counted(80, 84), settings=RULES).change is Change.NO_CLEAR_CHANGE


def test_a_change_of_season_is_no_effect():
    found = effect_of_refresh(counted(80, 20, nights_after=2.5), settings=RULES)
    assert found.change is Change.NO_CLEAR_CHANGE
    assert found.ratio == pytest.approx(1.0)


def test_a_rise_that_scrapes_not_refreshed_share_is_no_effect():
    alone = effect_of_refresh(counted(20, 50), settings=RULES)
    against = effect_of_refresh(counted(20, 50), others=counted(60, 150), settings=RULES)
    assert alone.change is Change.MORE
    assert against.change is Change.NO_CLEAR_CHANGE
    assert against.ratio == pytest.approx(1.0, abs=0.02)
    assert against.against_others
    assert not alone.against_others


def test_different_efforts_of_the_others_are_divided_out():
    equal = effect_of_refresh(counted(30, 60), others=counted(50, 50), settings=RULES)
    longer = effect_of_refresh(
        counted(30, 60), others=counted(50, 100, nights_after=20.0), settings=RULES
    )
    assert longer.ratio == pytest.approx(equal.ratio, rel=0.02)


def test_spread_beyond_chance_widens_the_interval():
    plain = effect_of_refresh(counted(20, 50), settings=RULES)
    spread = effect_of_refresh(counted(20, 50), dispersion=4.0, settings=RULES)
    assert spread.low < plain.low < plain.ratio < plain.high < spread.high
    assert math.log(spread.high / spread.ratio) == pytest.approx(
        2 * math.log(plain.high / plain.ratio)
    )


def test_refreshes_of_one_scent_are_pooled():
    each = [counted(4, 9)] * 6
    assert effect_of_refresh(each[0], settings=RULES).change is Change.TOO_FEW_TO_TELL
    found = effect_of_refreshes([(one, None) for one in each], settings=RULES)
    assert found.change is Change.MORE
    assert found.refreshes == 6
    assert effect_of_refreshes([], settings=RULES).change is Change.TOO_FEW_TO_TELL


def test_a_busy_and_a_quiet_scrape_that_did_not_change_are_no_change_together():
    """Four a night watched 14 nights before and 4 after, half a visit a night the other way
    round: added up, 57 in 16 nights before and 23 in 18 after would look like a fall."""
    busy = counted(56, 16, nights_before=14, nights_after=4)
    quiet = counted(1, 7, nights_before=2, nights_after=14)

    found = effect_of_refreshes([(busy, None), (quiet, None)], settings=RULES)

    assert found.change is Change.NO_CLEAR_CHANGE
    assert found.ratio == pytest.approx(1.0, abs=0.02)


def test_one_refresh_without_a_comparison_leaves_all_without():
    """A ratio of ratios and a plain one are not the same thing."""
    pairs = [(counted(20, 40), counted(50, 50)), (counted(20, 40), counted(0, 0))]

    found = effect_of_refreshes(pairs, settings=RULES)

    assert not found.against_others
    assert found.ratio == pytest.approx(2.0, rel=1e-6)


def test_what_was_not_watched_on_both_sides_says_nothing():
    pairs = [(counted(20, 40), None), (counted(0, 90, nights_before=0), None)]
    assert effect_of_refreshes(pairs, settings=RULES).ratio == pytest.approx(2.0, rel=1e-6)


def test_from_nothing_to_some_has_a_lower_limit_and_no_upper_one():
    found = effect_of_refresh(counted(0, 15), settings=RULES)
    assert found.change is Change.MORE
    assert math.isinf(found.ratio)
    assert found.low > 1
    assert math.isinf(found.high)
    gone = effect_of_refresh(counted(15, 0), settings=RULES)
    assert gone.change is Change.FEWER
    assert (gone.ratio, gone.low) == (0, 0)


def test_refuses_impossible_records():
    with pytest.raises(ValueError, match="visits"):
        counted(-1, 3)
    with pytest.raises(ValueError, match="efforts"):
        counted(1, 3, nights_after=-1)
    with pytest.raises(ValueError, match="dispersion"):
        effect_of_refresh(counted(9, 9), dispersion=0.5, settings=RULES)
