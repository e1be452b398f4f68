"""Settings at the foot of a page are words, not names of variables."""

import pytest

from coop.reports.settings_words import settings_groups, value_words
from properties.land.units import UnitSystem


def test_a_setting_has_a_name_a_value_and_its_unit():
    (group,) = settings_groups({"house_rules": {"gust_limit_mps": 11.0, "rest_days": 3}})

    assert group["group"] == "house rules"
    assert group["values"] == [
        {"name": "gust limit", "value": "11 m/s"},
        {"name": "rest", "value": "3 days"},
    ]


def test_speeds_and_lengths_are_told_in_the_units_of_whoever_reads():
    rules = {"gust_limit_mps": 11.0, "house_setback_m": 150, "flood_margin_m": 0.5, "rest_days": 3}
    (group,) = settings_groups({"house_rules": rules}, system=UnitSystem.US)

    # 11 / 0.44704, 150 / 0.9144 and 0.5 / 0.3048.
    assert [one["value"] for one in group["values"]] == ["24.6 mph", "164 yd", "1.6 ft", "3 days"]


def test_a_setting_that_no_room_knows_any_more_is_told_without_a_unit():
    (group,) = settings_groups({"reports": {"gone_days": 1}})

    assert group["values"] == [{"name": "gone days", "value": "1"}]


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (True, "yes"),
        (False, "no"),
        (0.45, "0.45"),
        ((), "none"),
        ("since_last_picture", "since last picture"),
        (["licence", "hunter_education"], "licence, hunter education"),
        ({"mule deer": ["", "doe"]}, "mule deer (also unnamed, doe)"),
        ({"mule deer": [], "roe": ["doe"]}, "mule deer; roe (also doe)"),
        ({"food_plot": 0.5}, "food plot 0.5"),
    ],
)
def test_a_value_is_said_as_somebody_would(value, words):
    assert value_words(value) == words


def test_a_list_of_curves_is_for_programs():
    assert settings_groups({"season_curves": [{"lead_days": 14}]}) == []
