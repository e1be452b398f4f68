"""Lists come in pages; their cursors are taken as they were given."""

import pytest
from drf_spectacular.generators import SchemaGenerator

from tests.fuzz.odd_values import CURSORS

LISTS = [
    path
    for path, calls in SchemaGenerator().get_schema(request=None, public=True)["paths"].items()
    if "{" not in path
    and "cursor" in {each["name"] for each in calls.get("get", {}).get("parameters", ())}
]


@pytest.mark.parametrize("cursor", ["post", "cD1ub3BhcnNl"])
def test_a_cursor_that_no_page_gave_is_bad_input_and_named(cast, cursor):
    answer = cast.client(cast.manager).get(f"/api/v1/stands/?cursor={cursor}")
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "?cursor"


@pytest.mark.filterwarnings("ignore:DateTimeField .* received a naive datetime:RuntimeWarning")
@pytest.mark.parametrize(
    "what", ["at a NUL", "at the last day", "at before the first instant", "at beyond 64 bits"]
)
def test_no_list_fails_on_a_cursor_whatever_its_order_is_by(cast, what):
    client = cast.client(cast.coordinator)
    assert len(LISTS) > 50

    for path in LISTS:
        answer = client.get(path, {"cursor": CURSORS[what]})
        named = answer.status_code == 400 and answer.data["errors"][0]["pointer"]
        assert answer.status_code == 200 or named == "?cursor", (path, answer.content)


@pytest.mark.parametrize("size", ["abc", "0", "-1", "", "2.5", "9" * 5000])
def test_a_page_size_that_is_none_is_bad_input_and_named(cast, size):
    answer = cast.client(cast.manager).get("/api/v1/stands/", {"page_size": size})

    assert answer.status_code == 400, answer.data
    (error,) = answer.data["errors"]
    assert (error["pointer"], error["detail"]) == ("?page_size", "must be a whole number from 1 up")


def test_a_page_holds_what_was_asked_for_and_never_more_than_the_largest(cast):
    client = cast.client(cast.coordinator)

    def rows(size):
        return len(client.get("/api/v1/properties/", {"page_size": size}).data["results"])

    assert (rows(1), rows(200), rows(5000)) == (1, 2, 2)


def test_a_fault_of_the_program_is_not_taken_for_one_of_a_cursor(cast, monkeypatch):
    def broken(*_arguments, **_named):
        raise ValueError("no fault of the caller")

    monkeypatch.setattr("coop.api.pages.CursorPagination.paginate_queryset", broken)
    client = cast.client(cast.coordinator)

    with pytest.raises(ValueError, match="no fault of the caller"):
        client.get("/api/v1/stands/")
    assert client.get("/api/v1/stands/?cursor=x").status_code == 400
