"""Settings that were stored under an older name keep what they said."""

from importlib import import_module

by_species = import_module("properties.migrations.0002_deer_by_species").by_species


def test_a_list_of_names_of_deer_becomes_one_species():
    stored = {"visits": {"deer_names": ["", "deer", "elk"], "record_days": 90}, "wind": {"x": 1}}

    assert by_species(stored) == {
        "visits": {"deer_species": {"deer": ["", "elk"]}, "record_days": 90},
        "wind": {"x": 1},
    }


def test_a_layer_without_the_list_is_left_alone():
    assert by_species({"visits": {"record_days": 90}}) is None
    assert by_species({}) is None
