"""A change of settings is laid over what is stored, by group and name; null takes a value back."""

import pytest

from coop.audit.models import AuditEvent
from properties.land.settings import laid_over
from tests.cast import make_stand


@pytest.fixture(params=["cooperatives", "properties", "stands"])
def layer(request, cast):
    """A client that may change the layer, its address, and its row."""
    row = {
        "cooperatives": cast.cooperative,
        "properties": cast.north,
        "stands": make_stand(cast.north, "Ridge"),
    }[request.param]
    return cast.client(cast.coordinator), f"/api/v1/{request.param}/{row.id}/", row


def sent(layer, settings):
    client, url, row = layer
    answer = client.patch(url, {"settings": settings}, format="json", headers={"If-Match": "*"})
    row.refresh_from_db()
    return answer


def test_another_name_of_a_group_and_another_group_leave_the_first_alone(layer):
    sent(layer, {"house_rules": {"rest_days": 4}})
    sent(layer, {"house_rules": {"book_ahead_days": 10}})
    answer = sent(layer, {"wind": {"fit_floor": 0.6}})

    assert answer.status_code == 200, answer.data
    assert answer.data["settings"] == {
        "house_rules": {"rest_days": 4, "book_ahead_days": 10},
        "wind": {"fit_floor": 0.6},
    }


def test_null_takes_a_value_back_and_a_whole_group(layer):
    sent(layer, {"house_rules": {"rest_days": 4, "sits_a_day": 2}, "wind": {"fit_floor": 0.6}})

    one = sent(layer, {"house_rules": {"rest_days": None, "weekly_sits": None}})
    assert one.data["settings"] == {"house_rules": {"sits_a_day": 2}, "wind": {"fit_floor": 0.6}}

    last = sent(layer, {"house_rules": {"sits_a_day": None}})
    assert last.data["settings"] == {"wind": {"fit_floor": 0.6}}

    group = sent(layer, {"wind": None})
    assert group.data["settings"] == {}


def test_what_null_takes_back_holds_again_as_the_layer_above_says(cast):
    client = cast.client(cast.coordinator)
    north = f"/api/v1/properties/{cast.north.id}/"

    def change(url, days):
        body = {"settings": {"house_rules": {"rest_days": days}}}
        assert client.patch(url, body, format="json", headers={"If-Match": "*"}).status_code == 200
        return client.get(f"{north}settings/").data["house_rules"]["rest_days"]

    whole = f"/api/v1/cooperatives/{cast.cooperative.id}/"
    assert [change(whole, 5), change(north, 7), change(north, None), change(whole, None)] == [
        5,
        7,
        5,
        3,
    ]


def test_every_fault_is_told_at_its_own_place_and_nothing_is_kept(layer):
    answer = sent(
        layer,
        {
            "house_rules": {"rest_days": -1, "sits_a_day": 9, "weekly_sits": 3},
            "wind": {"no_such": 1, "presence": {"bedding/evening/hunt": "many"}},
            "sits": {"rut_from": "W10-1", "dark_dates": ["soon"], "prime_weekdays": [9]},
            "weather": 5,
            "no_such_group": {"a": 1},
        },
    )

    assert answer.status_code == 400
    assert {error["pointer"]: error["detail"] for error in answer.data["errors"]} == {
        "#/settings/house_rules/rest_days": "must be at least 0",
        "#/settings/house_rules/sits_a_day": "must be at most 2",
        "#/settings/wind/no_such": "unknown setting",
        "#/settings/wind/presence/bedding~1evening~1hunt": "must be a number",
        "#/settings/sits/rut_from": "must be a day MM-DD",
        "#/settings/sits/dark_dates": "'soon' is no date YYYY-MM-DD",
        "#/settings/sits/prime_weekdays": "must be numbers from 1 to 7",
        "#/settings/weather": "must be an object of names and values",
        "#/settings/no_such_group": answer.data["errors"][-1]["detail"],
    }
    assert answer.data["errors"][-1]["detail"].startswith("unknown group; known: camera_health, ")


def test_a_day_of_no_week_is_refused_as_a_dark_one(layer):
    answer = sent(layer, {"house_rules": {"dark_weekdays": [7, 9]}})

    assert answer.status_code == 400
    (error,) = answer.data["errors"]
    assert (error["pointer"], error["detail"]) == (
        "#/settings/house_rules/dark_weekdays",
        "must be numbers from 1 to 7",
    )
    assert layer[2].settings == {}


def test_a_flat_name_is_told_the_nested_form(layer):
    answer = sent(layer, {"house_rules/rest_days": 4})

    (error,) = answer.data["errors"]
    assert error["pointer"] == "#/settings/house_rules~1rest_days"
    assert error["detail"] == 'settings are nested: {"house_rules": {"rest_days": ...}}'


def test_null_for_a_name_that_nobody_knows_is_a_fault_unless_it_is_stored(layer):
    unknown = sent(layer, {"house_rules": {"rest_day": None}, "house": None})

    assert [error["pointer"] for error in unknown.data["errors"]] == [
        "#/settings/house_rules/rest_day",
        "#/settings/house",
    ]

    row = layer[2]
    row.settings = {"house_rules": {"rest_day": 4}, "house": {"colour": "red"}}
    row.save()
    taken = sent(layer, {"house_rules": {"rest_day": None}, "house": None})
    assert (taken.status_code, taken.data["settings"]) == (200, {})


def test_a_value_that_is_a_table_or_a_list_is_replaced_whole():
    stored = {"wind": {"presence": {"bedding/evening/hunt": 0.1}}, "sits": {"prime_weekdays": [6]}}

    changed = laid_over(stored, {"wind": {"presence": {}}, "sits": {"prime_weekdays": [7]}})

    assert changed == {"wind": {"presence": {}}, "sits": {"prime_weekdays": [7]}}
    assert stored["wind"]["presence"] == {"bedding/evening/hunt": 0.1}


def test_the_audit_record_holds_the_layer_before_and_after(layer):
    sent(layer, {"house_rules": {"rest_days": 4}})
    sent(layer, {"house_rules": {"sits_a_day": 2}})

    event = AuditEvent.objects.filter(object_id=layer[2].id).latest("id")
    assert event.before["settings"] == {"house_rules": {"rest_days": 4}}
    assert event.after["settings"] == {"house_rules": {"rest_days": 4, "sits_a_day": 2}}


def test_settings_of_a_new_property_may_hold_null(cast):
    client = cast.client(cast.coordinator)
    land = client.post(
        "/api/v1/properties/",
        {
            "cooperative": cast.cooperative.id,
            "name": "West",
            "time_zone": "America/Chicago",
            "boundary": cast.north.boundary,
            "settings": {"house_rules": {"rest_days": None, "sits_a_day": 2}},
        },
        format="json",
    )

    assert land.status_code == 201, land.data
    stored = client.get(f"/api/v1/properties/{land.data['id']}/").data["settings"]
    assert stored == {"house_rules": {"sits_a_day": 2}}
