"""Whatever stands in a setting is refused with its place, or can be kept, told and used."""

import dataclasses
import json

import orjson
import pytest

from properties.land import settings
from properties.land.settings import registered_groups
from tests.cast import make_stand
from tests.fuzz.odd_values import JSON_VALUES


@pytest.mark.parametrize("group", sorted(registered_groups()))
def test_an_odd_value_is_refused_or_of_the_kind_that_the_room_reads(group):
    cls = registered_groups()[group]
    defaults = cls()
    for field in dataclasses.fields(cls):
        for what, text in JSON_VALUES.items():
            try:
                value = json.loads(text)
            except (ValueError, RecursionError):
                continue
            if value is None or settings.faults({group: {field.name: value}}):
                continue
            taken = getattr(settings.resolve(cls, {group: {field.name: value}}), field.name)
            default = getattr(defaults, field.name)
            assert isinstance(taken, type(default)), (field.name, what)
            assert orjson.dumps(taken), (field.name, what)


@pytest.mark.parametrize(
    ("within", "pointer"),
    [
        ({"wind": {"presence": [0.2]}}, "wind/presence: must be an object"),
        ({"wind": {"reach_m": {"open": "far"}}}, "wind/reach_m/open: must be a number"),
        ({"wind": {"reach_m": {"a\0": 1}}}, "wind/reach_m: a text cannot hold a NUL"),
        ({"visits": {"deer_species": {"elk": [["wapiti"]]}}}, "visits/deer_species/elk/0: must be"),
        ({"sits": {"required_papers": "licence"}}, "sits/required_papers: must be a list"),
        ({"sits": {"prime_weekdays": [[6]]}}, "sits/prime_weekdays/0: must be a number"),
        ({"tracking": {"dog_rules": "\ud800"}}, "tracking/dog_rules: a text cannot hold"),
        ({"sits": {"check_in_opens_h": 10**400}}, "sits/check_in_opens_h: must lie between"),
        ({"sits": {"rut_from": "W10-1"}}, "sits/rut_from: must be a day MM-DD"),
        ({"obligations": {"work_due": "W10"}}, "obligations/work_due: must be a day MM-DD"),
        ({"sits": 5}, "sits: must be an object"),
        ([], "must be an object of groups"),
    ],
)
def test_what_is_wrong_within_is_told_with_its_place(within, pointer):
    (fault,) = settings.faults(within)

    assert str(fault).startswith(pointer)


@pytest.mark.parametrize(
    ("odd", "pointer"),
    [
        ([], "#/settings"),
        (True, "#/settings"),
        (1.5, "#/settings"),
        ("text", "#/settings"),
        (None, "#/settings"),
        ([{"wind": {}}], "#/settings"),
        ({"wind": []}, "#/settings/wind"),
    ],
)
def test_settings_of_every_layer_that_are_no_settings_are_refused(cast, odd, pointer):
    client = cast.client(cast.coordinator)
    stand = make_stand(cast.north, "Ridge")
    for path in (
        f"cooperatives/{cast.cooperative.id}",
        f"properties/{cast.north.id}",
        f"stands/{stand.id}",
    ):
        answer = client.patch(
            f"/api/v1/{path}/", {"settings": odd}, format="json", headers={"If-Match": "*"}
        )
        assert (answer.status_code, answer.data["errors"][0]["pointer"]) == (400, pointer)
