"""What a stand does to the wind, learned from what was felt there; figures are made up."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.wind.circular import resultant, turn_deg
from properties.wind.learning_settings import StandWindSettings
from properties.wind.stand_wind import EVEN_SPREAD_DEG, WindPairs, learn_stand_wind

SETTINGS = StandWindSettings(
    prior_spread_deg=10.0, prior_reports=4.0, report_error_deg=0.0, observation_error_deg=0.0
)


def pairs(felt, expected=270.0, *, error_deg=0.0, sit=None):
    felt = np.asarray(felt, dtype=float)
    return WindPairs(
        felt_from_deg=felt,
        expected_from_deg=np.broadcast_to(np.asarray(expected, dtype=float), felt.shape).copy(),
        error_deg=np.full(felt.shape, float(error_deg)),
        sit=np.arange(len(felt)) if sit is None else np.asarray(sit),
    )


def learn(*args, settings=SETTINGS, **kwargs):
    return learn_stand_wind(pairs(*args, **kwargs), settings=settings)


def test_without_a_report_the_prior_stands():
    learned = learn([])

    assert learned.offset_deg.tolist() == [0.0] * 8
    assert learned.spread_deg == pytest.approx([10.0] * 8)
    assert (learned.reports, learned.found_spread_deg, learned.holds) == (0, None, True)


def test_many_reports_of_one_turn_teach_that_turn_in_their_sector_alone():
    learned = learn([300.0] * 400)

    assert learned.offset_deg[6] == pytest.approx(30.0, abs=0.5)
    assert learned.counts.tolist() == [0, 0, 0, 0, 0, 0, 400, 0]
    assert learned.offset_deg[[0, 1, 2, 3, 4, 5, 7]] == pytest.approx([0.0] * 7)
    assert learned.spread_deg[6] < 2.0


def test_as_many_reports_as_the_prior_weighs_move_the_offset_half_way():
    # Four unit vectors at 30° beside 4·e^(−σ₀²/2) at 0°: nearly the bisector.
    learned = learn([300.0] * 4)

    assert learned.offset_deg[6] == pytest.approx(15.0, abs=0.2)


def test_one_report_moves_little_and_tells_nothing_of_the_spread():
    learned = learn([300.0])

    # One unit vector at 30° and 4·e^(−0.01523) = 3.9395 at 0°: atan(0.5 / 4.8056).
    assert learned.offset_deg[6] == pytest.approx(5.94, abs=0.01)
    assert learned.spread_deg[6] == pytest.approx(10.0)
    assert learned.found_spread_deg is None


def test_the_turn_across_north_is_the_short_way():
    learned = learn([10.0] * 300, 350.0)

    assert learned.offset_deg[0] == pytest.approx(20.0, abs=0.5)


def test_the_spread_found_is_the_circular_deviation_of_many_reports():
    random = np.random.default_rng(11)
    felt = 270.0 + np.rad2deg(random.vonmises(0.0, 1.0 / np.deg2rad(40.0) ** 2, 4000))

    learned = learn(felt)

    _mean, length = resultant(felt)
    assert learned.found_spread_deg == pytest.approx(
        np.rad2deg(np.sqrt(-2.0 * np.log(length))), abs=0.3
    )
    assert learned.spread_deg[6] == pytest.approx(learned.found_spread_deg, abs=0.5)


def test_what_the_forecast_and_the_hunter_add_is_not_laid_on_the_stand():
    random = np.random.default_rng(12)
    felt = 270.0 + random.normal(0.0, 25.0, 3000)
    settings = StandWindSettings(report_error_deg=15.0)

    learned = learn(felt, error_deg=20.0, settings=settings)

    # 25² = 15² + 20²: nothing is left for the stand.
    assert learned.spread_deg[6] < 4.0


def test_a_stand_whose_wind_swirls_does_not_hold_and_says_with_how_many_sits():
    felt = np.linspace(0.0, 330.0, 12)

    learned = learn(felt)

    assert not learned.holds
    assert learned.reports == 12
    assert learned.found_spread_deg == pytest.approx(EVEN_SPREAD_DEG)
    assert learned.unsteady_sectors == (6,)


def test_too_few_swirling_sits_are_not_enough_to_say_so():
    assert learn([0.0, 120.0, 240.0]).holds


def test_a_swirling_stand_becomes_less_certain_and_not_turned():
    learned = learn(np.arange(0.0, 360.0, 30.0))

    assert learned.offset_deg[6] == pytest.approx(0.0, abs=1e-6)
    assert learned.spread_deg[6] > 60.0


def test_the_quarters_of_one_sit_weigh_as_one_report():
    quarters = learn([300.0] * 4, sit=[0, 0, 0, 0])
    whole = learn([300.0])

    assert quarters.offset_deg == pytest.approx(whole.offset_deg)
    assert quarters.spread_deg == pytest.approx(whole.spread_deg)
    assert (quarters.reports, quarters.counts[6]) == (1, 1)


def test_sits_that_agree_within_but_not_among_them_are_as_spread_as_they_are():
    felt = np.repeat([230.0, 310.0, 230.0, 310.0, 230.0, 310.0], 4)

    learned = learn(felt, sit=np.repeat(np.arange(6), 4))

    # ρ² of ±40°: (Σ cos 40°)² less the six sits themselves, over 6² − 6.
    square = (36 * np.cos(np.deg2rad(40.0)) ** 2 - 6.0) / 30.0
    assert learned.found_spread_deg == pytest.approx(np.rad2deg(np.sqrt(-np.log(square))))


@given(seed=st.integers(0, 1000), sectors=st.integers(0, 7), count=st.integers(1, 40))
def test_turning_everything_by_sectors_turns_what_is_learned(seed, sectors, count):
    random = np.random.default_rng(seed)
    expected, felt = random.uniform(0, 360, count), random.uniform(0, 360, count)

    straight = learn(felt, expected)
    turned = learn(felt + 45.0 * sectors, expected + 45.0 * sectors)

    shifted = np.roll(straight.offset_deg, sectors)
    assert np.abs(turn_deg(shifted, turned.offset_deg)).max() < 1e-6
    assert np.roll(straight.spread_deg, sectors) == pytest.approx(turned.spread_deg)


@given(seed=st.integers(0, 1000), count=st.integers(0, 60))
def test_whatever_was_felt_the_answer_is_finite_and_no_wider_than_the_circle(seed, count):
    random = np.random.default_rng(seed)

    learned = learn(random.uniform(0, 360, count), random.uniform(0, 360, count))

    assert np.all(np.isfinite(learned.offset_deg))
    assert np.all((learned.spread_deg >= 0) & (learned.spread_deg <= EVEN_SPREAD_DEG + 1e-9))
    assert learned.counts.sum() == count


def test_pairs_of_unequal_length_or_without_a_number_are_refused():
    with pytest.raises(ValueError, match="one length"):
        WindPairs(
            felt_from_deg=np.zeros(2),
            expected_from_deg=np.zeros(3),
            error_deg=np.zeros(2),
            sit=np.zeros(2, dtype=int),
        )
    with pytest.raises(ValueError, match="finite"):
        pairs([np.nan])
