"""The bare address of the API lists what the caller may list, and nothing to nobody."""

import pytest

from coop.access.roles import Role, roles_allowed
from tests.coop.access.test_routes import api_views


def names(client):
    answer = client.get("/api/v1/")
    assert answer.status_code == 200
    return [each["name"] for each in answer.json()["collections"]]


def test_without_a_credential_it_tells_nothing(client, db):
    answer = client.get("/api/v1/")

    assert (answer.status_code, answer.json()["code"]) == (401, "not_signed_in")


@pytest.mark.parametrize("role", [Role.MANAGER, Role.MEMBER, Role.LANDOWNER])
def test_it_names_every_list_that_the_table_permits_and_no_other(cast, role):
    listed = {
        path.removeprefix("api/v1/").strip("^$/"): view
        for path, view, actions in api_views()
        if (actions or {}).get("get") == "list"
    }
    permitted = {
        name
        for name, view in listed.items()
        if name and ("list" in view.own_only or role in roles_allowed(view.needs["list"]))
    }

    assert set(names(cast.client(getattr(cast, role)))) == permitted
    assert len(permitted) > 5


def test_an_outfitters_application_sees_what_its_scopes_permit(cast):
    found = names(cast.application_client("offers"))

    assert "stands" in found
    assert "offers" in found
    assert "sits" not in found
    assert "scrapes" not in found
    assert "sits" in names(cast.application_client("offers sits"))


@pytest.mark.parametrize("scopes", ["offers", "sits", "offers sits", "webhooks"])
def test_it_names_to_an_application_no_list_that_always_refuses_it(cast, scopes):
    client = cast.application_client(scopes)
    answered = {name: client.get(f"/api/v1/{name}/").status_code for name in names(client)}

    assert answered
    assert set(answered.values()) <= {200, 400}, answered


@pytest.mark.parametrize(
    ("role", "shown"),
    [
        ("landowner", {"land-today"}),
        ("manager", {"land-today", "week-ahead"}),
        ("coordinator", {"land-today", "week-ahead"}),
        ("member", set()),
    ],
)
def test_the_day_and_the_week_of_a_property_are_reached_from_here(cast, role, shown):
    client = cast.client(getattr(cast, role))

    assert {"land-today", "week-ahead"} & set(names(client)) == shown
    for name in shown:
        grounds = {each["name"]: each for each in client.get(f"/api/v1/{name}/").json()}
        assert "North" in grounds
        assert ("South" in grounds) is (role == "coordinator")
        assert client.get(grounds["North"]["figures"]).status_code == 200


def test_every_link_leads_to_the_list_that_it_names(cast):
    client = cast.client(cast.manager)
    for each in client.get("/api/v1/").json()["collections"]:
        assert each["link"] == f"/api/v1/{each['name']}/"
        # Some lists want a property or a span to be named first, and say so.
        assert client.get(each["link"]).status_code in (200, 400), each["name"]
        assert each["about"], each["name"]


def test_it_names_each_collection_once_in_order(cast):
    found = names(cast.client(cast.coordinator))

    assert found == sorted(set(found))
