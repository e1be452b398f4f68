"""The camera survey's arithmetic: what it needs, and what it refuses to tell."""

import pytest

from scheduling.herd.population import ASSUMPTIONS, SurveyCounts, population, weaknesses

USUAL = {"hectares_per_camera": 65.0, "survey_days": 14, "fewest_bucks": 5}


def counts(**changes):
    figures = {
        "unique_bucks": 10,
        "buck_pictures": 200,
        "doe_pictures": 300,
        "fawn_pictures": 100,
        "area_m2": 3_000_000.0,
    }
    return SurveyCounts(**{**figures, **changes})


def test_without_a_buck_told_apart_nothing_scales_and_nothing_is_told():
    assert population(counts(unique_bucks=0)) is None


def test_without_does_there_is_no_fawn_crop_and_without_an_area_no_density():
    found = population(counts(doe_pictures=0, area_m2=None))
    assert found is not None
    assert (found.fawns_per_doe, found.deer_per_km2, found.hectares_per_deer) == (None, None, None)


def test_unknown_deer_stay_out_of_the_ratio_and_are_told_as_a_share():
    with_them, without = population(counts(unknown_pictures=200)), population(counts())
    assert with_them is not None
    assert without is not None
    assert with_them.deer == without.deer
    assert with_them.unknown_share == pytest.approx(200 / 800)


@pytest.mark.parametrize(
    "wrong",
    [{"buck_pictures": -1}, {"unique_bucks": 201}, {"area_m2": 0.0}, {"area_m2": float("nan")}],
)
def test_counts_that_cannot_be_are_refused(wrong):
    with pytest.raises(ValueError, match=r"negative|more bucks|area"):
        counts(**wrong)


def test_a_survey_as_usual_has_no_weakness_of_its_own():
    assert weaknesses(counts(), cameras=5, days=14, **USUAL) == ()


def test_few_bucks_days_and_cameras_and_unknown_deer_are_each_told():
    told = weaknesses(counts(unique_bucks=4, unknown_pictures=3), cameras=2, days=13, **USUAL)
    for word in ("4 bucks", "13 days", "150 ha", "3 deer"):
        assert any(word in sentence for sentence in told), word
    assert "No cameras" in " ".join(weaknesses(counts(), cameras=0, days=14, **USUAL))


def test_the_assumptions_name_does_pictured_less_and_scrapes():
    words = " ".join(ASSUMPTIONS)
    assert "1.9" in words
    assert "scrapes" in words
