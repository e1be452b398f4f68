"""No cache between the API and a caller keeps what was meant for that caller alone."""

import pytest
from django.http import HttpResponse
from django.test import RequestFactory

from coop.api.middleware import kept_from_caches
from tests.cast import make_stand
from tests.coop.access.test_routes import api_views

LISTS = sorted(
    f"/{path.replace('^', '').replace('$', '')}"
    for path, _view, actions in api_views()
    if (actions or {}).get("get") == "list"
)


@pytest.mark.parametrize("path", LISTS)
def test_no_shared_cache_may_keep_a_list(cast, path):
    told = cast.client(cast.manager).get(path)["Cache-Control"]

    assert "private" in told or "no-store" in told
    assert "public" not in told


def test_an_object_and_what_is_refused_are_kept_by_no_cache(cast):
    client = cast.client(cast.manager)
    stand = make_stand(cast.north, "Chicory ladder")
    answers = [
        client.get(f"/api/v1/stands/{stand.id}/"),
        client.get("/api/v1/stands/00000000-0000-0000-0000-000000000000/"),
        client.get("/api/v1/nothing-of-this-name/"),
        client.post("/api/v1/closures/", {}),
    ]

    assert [answer.status_code for answer in answers] == [200, 404, 404, 400]
    assert {answer["Cache-Control"] for answer in answers} == {"private, no-store"}


def test_what_a_view_says_of_caches_stands():
    def view(_request):
        return HttpResponse(headers={"Cache-Control": "private, max-age=86400"})

    answer = kept_from_caches(view)(RequestFactory().get("/api/v1/anything/"))

    assert answer["Cache-Control"] == "private, max-age=86400"


def test_a_repeated_post_gets_its_answer_again_and_no_cache_keeps_either(cast):
    client = cast.client(cast.member)
    asked = [
        client.post("/api/v1/closures/", {}, headers={"Idempotency-Key": "key-of-this-test"})
        for _time in range(2)
    ]

    assert asked[0].content == asked[1].content
    assert asked[1]["Idempotent-Replay"] == "true"
    assert {answer["Cache-Control"] for answer in asked} == {"private, no-store"}


def test_the_description_is_the_same_for_everybody_and_says_nothing_of_caches(client):
    assert "Cache-Control" not in client.get("/api/v1/schema/")
