"""The buck-to-picture ratio against published arithmetic."""

import pytest

from scheduling.herd.population import SurveyCounts, population

ACRE_M2 = 4046.8564224


def test_the_worked_example_of_a_published_guide():
    """Noble Foundation 2002, after Jacobson et al. 1997: 24 bucks on 640 acres.

    Published: 13.333 pictures a buck, 36 does, 12 fawns, 72 deer, 1.5 does a buck, .333 fawns a
    doe, 8.89 acres a deer.
    """
    found = population(
        SurveyCounts(
            unique_bucks=24,
            buck_pictures=320,
            doe_pictures=480,
            fawn_pictures=160,
            area_m2=640 * ACRE_M2,
        )
    )

    assert found is not None
    assert found.pictures_per_buck == pytest.approx(13.333, abs=5e-4)
    assert (found.does, found.fawns, found.deer) == pytest.approx((36, 12, 72))
    assert found.does_per_buck == pytest.approx(1.5)
    assert found.fawns_per_doe == pytest.approx(0.333, abs=5e-4)
    assert found.hectares_per_deer is not None
    assert found.hectares_per_deer * 10_000 / ACRE_M2 == pytest.approx(8.89, abs=5e-3)
    assert found.deer_per_km2 == pytest.approx(72 / (640 * ACRE_M2 / 1e6))


def test_the_herd_of_a_published_survey_follows_from_its_bucks_and_ratios():
    """Mississippi, 49 cameras, 14 days, 1993 (abstracts of the Southeast Deer Study Group).

    Published: 213 bucks, 1:1.4 bucks to does, 1:.67 does to fawns, 711 deer. The pictures are
    any that stand in these ratios.
    """
    found = population(
        SurveyCounts(unique_bucks=213, buck_pictures=1000, doe_pictures=1400, fawn_pictures=938)
    )

    assert found is not None
    assert found.does_per_buck == pytest.approx(1.4)
    assert found.fawns_per_doe == pytest.approx(0.67)
    assert round(found.deer) == 711


def test_the_published_mean_bias_is_told_as_what_the_herd_would_be():
    """Journal of the Southeastern Association of Fish and Wildlife Agencies, 2014: -32.2 %."""
    found = population(
        SurveyCounts(unique_bucks=24, buck_pictures=320, doe_pictures=480, fawn_pictures=160)
    )

    assert found is not None
    assert found.deer_if_biased_as_published * (1 - 0.322) == pytest.approx(found.deer)
