"""Every address that is no part of the API: who opens it, in tables complete by construction."""

from base64 import b64encode

import pytest
from django.urls import get_resolver
from rest_framework.test import APIClient

from tests.coop.access.kinds import CALLERS, UNKNOWN_CALLERS

pytestmark = pytest.mark.django_db

OPEN = {
    "": 302,
    "docs/": 200,
    "docs/api/": 200,
    "docs/reference/": 200,
    "docs/fit/": 200,
    "docs/fit": 200,
    "docs/images/replayed-seasons.svg": 200,
    "health/live/": 200,
    "health/ready/": 200,
    "api/v1/schema/": 200,
}
"""Nothing here is about any cooperative: anybody reads it."""
BY_SECRET = {
    "calendars/{secret}.ics": 404,
    "notices/unsubscribe/{secret}/": 404,
    "notices/invitation/{secret}/": 404,
    "notices/report/{secret}/": 404,
    "metrics/": 404,
}
"""Opened by a secret in the address or by a token of its own; a made-up one finds nothing."""
ASKS_FOR_CREDENTIALS = {"oauth/token/", "oauth/revoke/", "admin/"}
PATTERNS = {
    "docs/<slug:name>/": "docs/fit/",
    "docs/<slug:name>": "docs/fit",
    "docs/images/<str:name>": "docs/images/replayed-seasons.svg",
    "calendars/<str:secret>.ics": "calendars/{secret}.ics",
    "notices/unsubscribe/<str:token>/": "notices/unsubscribe/{secret}/",
    "notices/invitation/<str:token>/": "notices/invitation/{secret}/",
    "notices/report/<str:token>/": "notices/report/{secret}/",
    "admin/login/": "admin/",
}


def patterns():
    """Every pattern outside the API's own table; the admin's as one."""

    def walk(found, prefix):
        for pattern in found:
            path = prefix + str(pattern.pattern)
            if path == "admin/":
                yield path
            elif hasattr(pattern, "url_patterns"):
                yield from walk(pattern.url_patterns, path)
            elif not path.startswith("api/v1/") or path == "api/v1/schema/":
                yield path

    return {PATTERNS.get(path, path) for path in walk(get_resolver().url_patterns, "")}


def test_every_address_outside_the_api_stands_in_one_of_the_three_tables():
    assert patterns() == {*OPEN, *BY_SECRET, *ASKS_FOR_CREDENTIALS}


@pytest.mark.parametrize("path", OPEN)
def test_what_is_open_tells_everybody_the_same(world, clients, path):
    told = {
        caller: (answer.status_code, _content(answer))
        for caller in [*CALLERS, "anonymous"]
        for answer in [clients[caller].get(f"/{path}")]
    }

    assert {status for status, _text in told.values()} == {OPEN[path]}
    assert not [caller for caller, (_status, text) in told.items() if b"markNorth" in text]


@pytest.mark.parametrize("path", BY_SECRET)
@pytest.mark.parametrize("caller", ["coordinator", "application", "anonymous"])
def test_a_made_up_secret_finds_nothing_whoever_asks(world, clients, caller, path):
    answer = clients[caller].get("/" + path.format(secret="a-secret-that-nobody-was-given"))

    assert answer.status_code == BY_SECRET[path]


@pytest.mark.parametrize("caller", [*CALLERS, *UNKNOWN_CALLERS])
def test_tokens_are_given_out_for_a_secret_and_for_nothing_else(clients, caller):
    answer = clients[caller].post("/oauth/token/", {"grant_type": "client_credentials"})

    assert answer.status_code in (400, 401)
    assert "access_token" not in answer.json()


def _content(answer):
    return answer.getvalue() if answer.streaming else answer.content


def test_a_token_of_the_api_reads_no_metrics(clients, settings):
    settings.METRICS_TOKEN = "of-the-collector"

    assert {clients[caller].get("/metrics/").status_code for caller in CALLERS} == {404}
    collector = APIClient()
    collector.credentials(HTTP_AUTHORIZATION="Bearer of-the-collector")
    assert collector.get("/metrics/").status_code == 200


NAMELESS = {"client_id": "a\0b", "client_secret": "\0", "token": "x\0"}


@pytest.mark.parametrize("odd", ["%00", "x%00y", "%ED%A0%80", "x" * 3000])
def test_no_address_outside_the_api_fails_on_a_secret_that_no_column_takes(odd):
    client = APIClient(raise_request_exception=False)
    for path in BY_SECRET:
        answer = client.get("/" + path.replace("{secret}", odd))
        assert answer.status_code in (400, 404), path
    for path in ("docs/{}/", "docs/images/{}", "api/v1/stands/{}/"):
        assert client.get("/" + path.format(odd)).status_code in (401, 404), path


@pytest.mark.parametrize("grant", ["client_credentials", "refresh_token", "password", "\0"])
def test_an_application_that_no_column_takes_is_no_application(db, grant):
    client = APIClient(raise_request_exception=False)
    told = {"grant_type": grant, "refresh_token": "\0", "username": "\0", "password": "\0"}
    by_header = {"HTTP_AUTHORIZATION": f"Basic {b64encode(b'a' + bytes(1) + b'b:x').decode()}"}

    for path in ("/oauth/token/", "/oauth/revoke/"):
        for answer in (
            client.post(path, {**told, **NAMELESS}),
            client.post(path, {**told, "token": "\0"}, **by_header),
        ):
            assert answer.status_code in (400, 401), (path, answer.status_code)
            assert answer.json()["error"]
