"""What is plausible of a deer: refused as a slip, kept with a question, or let stand."""

import dataclasses

import pytest

from properties.land.settings import InvalidSetting, resolve
from scheduling.sits.harvest_checks import Deer, Level, doubts
from scheduling.sits.harvest_settings import HarvestSettings

SETTINGS = HarvestSettings()


def found(**told):
    deer = Deer(**{"is_antlered": True, **told})
    return {(doubt.field, doubt.code, doubt.level) for doubt in doubts(deer, settings=SETTINGS)}


def test_a_usual_buck_and_one_of_whom_nothing_is_known_raise_no_question():
    assert found() == set()
    assert (
        found(
            sex="buck",
            dressed_weight_kg=64,
            age_years=3.5,
            beam_length_mm=480,
            base_circumference_mm=105,
            inside_spread_mm=400,
            antler_points=8,
        )
        == set()
    )


@pytest.mark.parametrize(
    "field",
    [
        "dressed_weight_kg",
        "age_years",
        "beam_length_mm",
        "base_circumference_mm",
        "inside_spread_mm",
        "antler_points",
    ],
)
def test_each_measure_is_refused_beyond_its_outer_bounds_and_questioned_beyond_the_inner(field):
    least, usual_from, usual_until, most = getattr(SETTINGS, field)
    for value in (usual_from, usual_until):
        assert not any(one == field for one, _code, _level in found(**{field: value}))
    for value in (least, most):
        assert (field, "unusual", Level.WARNING) in found(**{field: value})
    for value in (least - 0.1, most + 0.1):
        assert (field, "impossible", Level.ERROR) in found(**{field: value})


def test_a_weight_in_pounds_is_questioned_and_one_in_grams_refused():
    """130 lb entered as kg, and 59 000 g: the usual slips."""
    assert ("dressed_weight_kg", "unusual", Level.WARNING) in found(dressed_weight_kg=130)
    assert ("dressed_weight_kg", "impossible", Level.ERROR) in found(dressed_weight_kg=59_000)


def test_a_buck_in_milk_cannot_be_and_a_fawn_in_milk_is_a_question():
    assert ("lactating", "buck_in_milk", Level.ERROR) in found(sex="buck", lactating=True)
    assert ("lactating", "fawn_in_milk", Level.WARNING) in found(
        sex="doe", is_antlered=False, age_years=0.5, lactating=True
    )
    assert found(sex="doe", is_antlered=False, age_years=2.5, lactating=True) == set()


def test_antlers_and_the_class_or_sex_that_does_not_go_with_them_are_a_question():
    assert ("sex", "antlered_doe", Level.WARNING) in found(sex="doe")
    assert ("antler_points", "antlers_of_antlerless", Level.WARNING) in found(
        is_antlered=False, antler_points=4
    )


def test_errors_come_before_warnings_and_every_sentence_is_one():
    deer = Deer(is_antlered=True, sex="doe", dressed_weight_kg=500)
    levels = [doubt.level for doubt in doubts(deer, settings=SETTINGS)]
    assert levels == [Level.ERROR, Level.WARNING]
    assert all(doubt.sentence.endswith(".") for doubt in doubts(deer, settings=SETTINGS))


def test_a_property_sets_its_own_bounds_and_four_rising_numbers_are_asked_for():
    own = resolve(HarvestSettings, {"harvest": {"dressed_weight_kg": [5, 20, 60, 90]}})
    (doubt,) = doubts(Deer(is_antlered=True, dressed_weight_kg=70), settings=own)
    assert (doubt.field, doubt.level) == ("dressed_weight_kg", Level.WARNING)
    for wrong in ((1, 2, 3), (4, 3, 2, 1), ("a", 1, 2, 3)):
        with pytest.raises(InvalidSetting):
            dataclasses.replace(SETTINGS, age_years=wrong)
