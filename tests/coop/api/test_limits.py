"""Every caller has a quota a minute, and reads in each answer what is left of it."""

import pytest
import time_machine
from django.core.cache import cache
from rest_framework.test import APIClient

from coop.api.limits import spend

AT = "2026-11-01T12:00:20Z"


@pytest.fixture(autouse=True)
def _counts_begin_anew():
    cache.clear()
    yield
    cache.clear()


@pytest.fixture
def quota(settings):
    settings.RATE_LIMITS = {"person": 3, "application": 5, "anonymous": 2, "sign_in": 2}


@time_machine.travel(AT, tick=False)
def test_an_answer_tells_quota_window_and_what_is_left(cast, quota):
    answer = cast.client(cast.member).get("/api/v1/properties/")
    assert answer.status_code == 200
    assert answer["RateLimit-Policy"] == '"person";q=3;w=60'
    assert answer["RateLimit"] == '"person";r=2;t=40'


@time_machine.travel(AT, tick=False)
def test_whoever_spent_the_quota_gets_429_and_when_to_come_back(cast, quota):
    client = cast.client(cast.member)
    statuses = [client.get("/api/v1/properties/").status_code for _ in range(3)]
    answer = client.get("/api/v1/properties/")
    assert statuses == [200, 200, 200]
    assert answer.status_code == 429
    assert answer.json()["code"] == "too_many_requests"
    assert answer["Retry-After"] == "40"
    assert answer["RateLimit"] == '"person";r=0;t=40'


def test_the_next_minute_brings_a_new_quota(cast, quota):
    client = cast.client(cast.member)
    with time_machine.travel(AT, tick=False):
        for _ in range(4):
            client.get("/api/v1/properties/")
    with time_machine.travel("2026-11-01T12:01:00Z", tick=False):
        assert client.get("/api/v1/properties/").status_code == 200


@time_machine.travel(AT, tick=False)
def test_one_persons_second_token_shares_the_quota_and_another_person_does_not(cast, quota):
    for _ in range(3):
        cast.client(cast.member).get("/api/v1/properties/")
    assert cast.client(cast.member).get("/api/v1/properties/").status_code == 429
    assert cast.client(cast.manager).get("/api/v1/properties/").status_code == 200


def test_an_application_has_a_quota_of_its_own(cast, quota):
    answer = cast.application_client().get("/api/v1/properties/")
    assert answer["RateLimit-Policy"] == '"application";q=5;w=60'


def signing_in(number: int, **extra: str) -> int:
    body = {"email": f"nobody{number}@example.org", "password": "not the right one"}
    return APIClient().post("/api/v1/sign-in/", body, **extra).status_code


def test_whoever_is_unknown_is_counted_by_address_whatever_name_they_try(db, quota):
    addresses = ("192.0.2.1", "192.0.2.1", "192.0.2.1", "192.0.2.2")
    statuses = [signing_in(n, REMOTE_ADDR=address) for n, address in enumerate(addresses)]
    assert statuses == [401, 401, 429, 401]


def test_an_address_told_by_the_caller_is_not_believed(db, quota):
    statuses = [signing_in(n, HTTP_X_FORWARDED_FOR=f"192.0.2.{n}") for n in range(3)]
    assert statuses == [401, 401, 429]


@pytest.mark.parametrize("page", ["/oauth/token/", "/admin/login/"])
def test_pages_that_take_a_secret_are_held_to_the_quota_of_signing_in(db, quota, page):
    client = APIClient()
    statuses = [client.post(page, {"a": "b"}, format="multipart").status_code for _ in range(3)]
    assert 429 not in statuses[:2]
    assert statuses[2] == 429


def test_a_limited_post_is_not_kept_under_its_idempotency_key(cast, quota):
    client = cast.client(cast.member)
    headers = {"HTTP_IDEMPOTENCY_KEY": "once"}
    with time_machine.travel(AT, tick=False):
        for _ in range(3):
            client.get("/api/v1/properties/")
        assert client.post("/api/v1/tokens/", **headers).status_code == 429
    with time_machine.travel("2026-11-01T12:02:00Z", tick=False):
        assert client.post("/api/v1/tokens/", **headers).status_code == 201


def test_a_cache_that_does_not_answer_lets_requests_pass(monkeypatch):
    def gone(*_args, **_kwargs):
        raise ConnectionError

    monkeypatch.setattr("coop.api.limits.cache.incr", gone)
    assert not spend(policy="person", caller="a", quota=1, now_s=0.0).is_spent
