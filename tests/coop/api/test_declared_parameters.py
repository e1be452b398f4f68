"""What the description says that a list takes, the list takes; and nothing else."""

import pytest
from drf_spectacular.generators import SchemaGenerator
from rest_framework.settings import api_settings

from tests.cast import make_stand
from tests.coop.access.test_routes import api_views

ALL_DESCRIBED = {
    path: {each["name"] for each in calls["get"].get("parameters", ()) if each["in"] == "query"}
    for path, calls in SchemaGenerator().get_schema(request=None, public=True)["paths"].items()
    if "get" in calls
}
DESCRIBED = {path: names for path, names in ALL_DESCRIBED.items() if "{" not in path}
NOBODY = "0193a1c2-0000-7000-8000-000000000001"
ONE_ANSWER = ("api/v1/^$", "api/v1/^me/$", "api/v1/^second-factor/$")
LISTS = {
    f"/{path.replace('^', '').replace('$', '')}": view
    for path, view, actions in api_views()
    if (actions or {}).get("get") == "list" and path not in ONE_ANSWER
}


def unknown_to(answer):
    """The names of parameters that an answer calls unknown."""
    if answer.status_code != 400:
        return set()
    return {
        error["pointer"].removeprefix("?")
        for error in answer.json().get("errors", ())
        if error["detail"] == "unknown query parameter"
    }


def test_every_list_is_described():
    assert len(LISTS) > 60
    assert set(LISTS) <= set(DESCRIBED)


@pytest.mark.parametrize("path", sorted(LISTS))
def test_a_list_knows_every_parameter_that_is_declared_of_it(cast, path):
    asked = dict.fromkeys(DESCRIBED[path], "x")

    answer = cast.client(cast.coordinator).get(path, asked)

    assert answer.status_code in (200, 400), answer.content
    assert unknown_to(answer) == set()


@pytest.mark.parametrize("path", sorted(LISTS))
def test_a_list_searches_where_that_is_declared_and_refuses_it_elsewhere(cast, path):
    answer = cast.client(cast.coordinator).get(path, {api_settings.SEARCH_PARAM: "x"})

    searches = bool(getattr(LISTS[path], "search_fields", None))
    assert (api_settings.SEARCH_PARAM in DESCRIBED[path]) is searches
    if searches:
        assert answer.status_code == 200
    else:
        assert unknown_to(answer) == {api_settings.SEARCH_PARAM}


def test_a_search_finds_by_a_part_of_the_name(cast):
    for name in ("Chicory ladder", "Slough ladder"):
        make_stand(cast.north, name)

    def found(word):
        answer = cast.client(cast.manager).get("/api/v1/stands/", {"search": word})
        return [each["name"] for each in answer.json()["results"]]

    assert found("hicor") == ["Chicory ladder"]
    assert len(found("LADDER")) == 2
    assert found("no stand is called so") == []


def test_every_question_knows_what_is_declared_of_it_and_refuses_all_else(cast):
    client = cast.client(cast.coordinator)
    odd = {}
    for path, names in ALL_DESCRIBED.items():
        address = path.replace("{id}", NOBODY).replace("{table}", "sits")
        declared = unknown_to(client.get(address, dict.fromkeys(names, "x")))
        undeclared = unknown_to(client.get(address, {"bananas": "1"}))
        if (declared, undeclared) != (set(), {"bananas"}):
            odd[path] = (declared, undeclared)

    assert len(ALL_DESCRIBED) > 150
    assert odd == {}


def test_a_question_about_one_property_is_not_narrowed_in_silence(cast):
    client = cast.client(cast.landowner)
    address = f"/api/v1/land-today/{cast.north.id}/figures/"

    assert client.get(address, {"fields": "on"}).json().keys() == {"on"}
    assert unknown_to(client.get(address, {"date": "2025-11-08"})) == {"date"}
