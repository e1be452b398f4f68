"""Counting wind by sector and speed class."""

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.wind.weather_hours import weather_hour
from properties.wind.wind_rose import wind_rose, wind_rose_of_hours

NAN = float("nan")
HOURS = st.lists(
    st.tuples(
        st.one_of(st.just(NAN), st.integers(0, 360).map(float)),
        st.one_of(st.just(NAN), st.just(0.0), st.floats(0.1, 40)),
        st.booleans(),
    ),
    max_size=60,
)


def rose_of(hours, **options):
    columns = np.array(hours, dtype=float).reshape(-1, 3).T
    return wind_rose(
        wind_from_deg=columns[0], speed_mps=columns[1], variable=columns[2] == 1, **options
    )


def test_each_hour_is_counted_in_its_sector_and_speed_class():
    rose = wind_rose(
        wind_from_deg=[10, 95, 270, 271, 270],
        speed_mps=[1, 3, 3.3, 3.4, 20],
        speed_edges_mps=(1.6, 3.4, 8.0),
    )
    expected = np.zeros((8, 4), dtype=int)
    expected[0, 0] = expected[2, 1] = expected[6, 1] = expected[6, 2] = expected[6, 3] = 1
    assert rose.counts.tolist() == expected.tolist()


def test_nought_is_calm_at_nought_speed_and_north_in_moving_air():
    rose = wind_rose(wind_from_deg=[0, 0, 360, 359.9], speed_mps=[0, 2, 2, 2])
    assert (rose.calm, rose.counts[0].sum(), rose.directed) == (1, 3, 3)


def test_sectors_are_centred_on_their_names():
    # 22.5° parts north from north-east; a boundary belongs to the sector clockwise of it.
    rose = wind_rose(wind_from_deg=[337.4, 337.5, 22.4, 22.5], speed_mps=[2] * 4)
    assert rose.counts.sum(axis=1).tolist() == [2, 1, 0, 0, 0, 0, 0, 1]
    finer = wind_rose(wind_from_deg=[22.5], speed_mps=[2], sector_count=16)
    assert finer.counts.sum(axis=1).tolist() == [0, 1] + [0] * 14


def test_calm_variable_and_unknown_hours_are_kept_apart_from_the_sectors():
    rose = wind_rose(
        wind_from_deg=[NAN, NAN, NAN, 90, NAN],
        speed_mps=[0, 2, 2, NAN, NAN],
        variable=[False, True, False, False, True],
    )
    assert (rose.calm, rose.variable, rose.unknown, rose.directed) == (1, 1, 3, 0)
    assert (rose.calm_share, rose.variable_share) == (0.5, 0.5)


def test_no_hours_give_a_rose_of_noughts():
    rose = wind_rose(wind_from_deg=[], speed_mps=[])
    assert rose.shares.sum() == 0
    assert rose.calm_share == 0


@given(HOURS)
def test_every_hour_is_counted_exactly_once_and_shares_sum_to_one(hours):
    rose = rose_of(hours)
    assert rose.directed + rose.calm + rose.variable + rose.unknown == len(hours)
    if rose.directed:
        assert rose.shares.sum() == pytest.approx(1)
        assert rose.sector_shares.sum() == pytest.approx(1)
    if rose.known:
        directed_share = rose.directed / rose.known
        assert rose.calm_share + rose.variable_share + directed_share == pytest.approx(1)


@given(HOURS, st.integers(0, 7))
def test_turning_all_winds_by_whole_sectors_turns_the_rose(hours, sectors):
    turned = [((direction + 45 * sectors) % 360, *rest) for direction, *rest in hours]
    assert np.array_equal(rose_of(turned).counts, np.roll(rose_of(hours).counts, sectors, axis=0))


@given(HOURS, st.randoms())
def test_the_order_of_hours_does_not_matter(hours, random):
    shuffled = random.sample(hours, len(hours))
    assert np.array_equal(rose_of(shuffled).counts, rose_of(hours).counts)


def test_imported_hours_are_counted_alike():
    noon = datetime(2026, 11, 7, 12, tzinfo=UTC)

    def hour(**values):
        return weather_hour(instant=noon, source="test", **values)

    rose = wind_rose_of_hours(
        (
            hour(wind_from_deg=0, speed_mps=0),
            hour(wind_from_deg=180, speed_mps=2),
            hour(wind_from_deg=None, speed_mps=2, variable=True),
            hour(wind_from_deg=None, speed_mps=None),
        )
    )
    assert (rose.calm, rose.counts[4].sum(), rose.variable, rose.unknown) == (1, 1, 1, 1)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"wind_from_deg": [90]}, "one length"),
        ({"variable": [True]}, "one length"),
        ({"wind_from_deg": [[90, 90]], "speed_mps": [[1, 2]]}, "one length"),
        ({"wind_from_deg": [90, 361]}, "0 to 360"),
        ({"wind_from_deg": [90, -1]}, "0 to 360"),
        ({"speed_mps": [1, -1]}, "not negative"),
        ({"speed_mps": [1, float("inf")]}, "finite"),
        ({"speed_edges_mps": (3, 2)}, "rise"),
        ({"speed_edges_mps": (0, 2)}, "rise"),
    ],
)
def test_arrays_that_cannot_be_wind_are_refused(wrong, words):
    good = {"wind_from_deg": [90, 180], "speed_mps": [1, 2]}
    with pytest.raises(ValueError, match=words):
        wind_rose(**good | wrong)
