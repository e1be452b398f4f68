"""Callers may ask for some members of an answer and leave the rest."""

import pytest

from coop.api.problems import InvalidInput
from coop.api.sparse import only_fields
from tests.cast import make_stand


def test_a_page_keeps_its_links_and_each_row_the_members_asked_for(cast):
    make_stand(cast.north, "Ridge")
    page = cast.client(cast.manager).get("/api/v1/stands/?fields=name,id").json()
    assert set(page) == {"next", "previous", "results"}
    assert [list(row) for row in page["results"]] == [["name", "id"]]
    assert page["results"][0]["name"] == "Ridge"


def test_the_next_page_asks_for_the_same_members(cast):
    for name in ("One", "Two"):
        make_stand(cast.north, name)
    client = cast.client(cast.manager)
    page = client.get("/api/v1/stands/?fields=name&page_size=1").json()
    following = client.get(page["next"]).json()
    assert [list(row) for row in following["results"]] == [["name"]]


def test_one_object_is_cut_the_same_way_and_keeps_its_etag(cast):
    stand = make_stand(cast.north, "Ridge")
    answer = cast.client(cast.manager).get(f"/api/v1/stands/{stand.id}/?fields=name")
    assert answer.json() == {"name": "Ridge"}
    assert answer["ETag"]


def test_a_member_nobody_knows_is_refused_by_name(cast):
    stand = make_stand(cast.north, "Ridge")
    for address in ("/api/v1/stands/", f"/api/v1/stands/{stand.id}/"):
        answer = cast.client(cast.manager).get(f"{address}?fields=name,smell")
        assert answer.status_code == 400
        assert answer.json()["errors"][0]["detail"] == "unknown field 'smell'"


@pytest.mark.parametrize("asked", ["", ",", " , "])
def test_no_name_at_all_is_refused(asked):
    with pytest.raises(InvalidInput):
        only_fields({"id": 1}, asked)


def test_a_problem_is_never_cut(cast):
    answer = cast.client(cast.stranger).get(f"/api/v1/stands/{cast.north.id}/?fields=title")
    assert answer.status_code == 404
    assert answer.json()["code"] == "not_found"
