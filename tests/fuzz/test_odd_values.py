"""Odd values in every member of every body and every parameter of every query.

The databases differ in what they cannot store: one refuses a NUL in a text and any in JSON, the
other whole numbers of more than 64 bits. Whatever is asked, each answer stands in the two or
four hundreds, and what was taken does not keep anybody from reading anything. The suite asks a
sample that comes by every place and every value; ``make fuzz`` asks more and reads again.
"""

import os
from collections import Counter
from collections.abc import Iterator
from itertools import islice
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from rest_framework.test import APIClient

from tests.coop.access.endpoints import ENDPOINTS
from tests.coop.access.knocking import FILES, ROUTES, knocks
from tests.coop.access.places import World
from tests.fuzz.odd_values import FARTHEST, Variant, bodies, queries
from tests.fuzz.test_every_operation import description

pytestmark = pytest.mark.django_db
DESCRIBED: dict[str, Any] = description.raw_schema
MANY = "FUZZ_EXAMPLES" in os.environ
# Of variants of a request; no divisor of how many values there are, so that each value comes.
ONE_IN = 3 if MANY else 29
READING = sorted(key for key in ENDPOINTS if key.startswith("GET"))
WRITING = sorted(key for key, row in ENDPOINTS.items() if not key.startswith(("GET", "DELETE")))


@pytest.fixture
def ask(clients: dict[str, APIClient], answered: Counter[int]) -> Iterator[Any]:
    """The coordinator's client, whose answers are counted; a failure is answered with 500."""
    client = clients["coordinator"]
    client.raise_request_exception = False

    def asked(method: str, path: str, *told: Any, **options: Any) -> Any:
        answer = getattr(client, method)(path, *told, **options)
        answered[answer.status_code] += 1
        if answer.streaming:
            answer.getvalue()
        return answer

    yield asked
    client.raise_request_exception = True


@pytest.mark.parametrize("key", WRITING)
def test_no_value_in_a_body_is_answered_with_a_failure(key, world, ask):
    path, _query, body = _first_asked(key, world)
    method, members = ROUTES[key].method, _members(key)
    faults: list[str] = []
    for variant in islice(_variants(body, members), 0, None, ONE_IN):
        with transaction.atomic():
            answer = _send(ask, method, path, body, variant)
            faults += _faults(variant, answer)
            if MANY and answer.status_code < 300 and variant.what in FARTHEST:
                then = f"{variant.where}, {variant.what} was taken, then"
                faults += [f"{then} {unread}" for unread in _unread(world, ask)]
            transaction.set_rollback(True)

    assert not faults, "\n".join(faults)


@pytest.mark.parametrize("key", READING)
def test_no_value_in_a_query_is_answered_with_a_failure(key, world, ask):
    path, query, _body = _first_asked(key, world)
    parameters = [
        each["name"] for each in _operation(key).get("parameters", ()) if each["in"] == "query"
    ]
    faults: list[str] = []
    for variant in islice(queries(query, parameters), 0, None, ONE_IN):
        told = {**query, variant.where: variant.sent.encode(errors="surrogatepass")}
        with transaction.atomic():
            faults += _faults(variant, ask("get", path, told))
            transaction.set_rollback(True)

    assert not faults, "\n".join(faults)


def _variants(body: dict[str, Any], members: dict[str, bool]) -> Iterator[Variant]:
    """Of a form that carries a file only the members beside it are texts that one may write."""
    if "file" in body:
        return queries({}, [name for name in members if name != "file"])
    return bodies(body, members)


def _send(ask: Any, method: str, path: str, body: dict[str, Any], variant: Variant) -> Any:
    if "file" not in body:
        return ask(method, path, variant.sent, content_type="application/json", HTTP_IF_MATCH="*")
    name, content = FILES[body["file"]]
    form = {**body, variant.where: variant.sent.encode(errors="ignore").decode()}
    return ask(method, path, {**form, "file": SimpleUploadedFile(name, content)})


def _operation(key: str) -> dict[str, Any]:
    method, _, path = key.partition(" ")
    found: dict[str, Any] = DESCRIBED["paths"][f"/api/v1/{path}"][method.lower()]
    return found


def _members(key: str) -> dict[str, bool]:
    """The described members of a body, and whether each is mere text."""
    schemas = DESCRIBED["components"]["schemas"]
    for content in _operation(key).get("requestBody", {}).get("content", {}).values():
        name = content.get("schema", {}).get("$ref", "").rpartition("/")[2]
        return {
            member: said.get("type") == "string" and "format" not in said
            for member, said in schemas.get(name, {}).get("properties", {}).items()
        }
    return {}


def _faults(variant: Variant, answer: Any) -> list[str]:
    if answer.status_code < 500:
        return []
    return [f"{variant.where}, {variant.what}: {answer.status_code} {answer.content[:200]!r}"]


def _unread(world: World, ask: Any) -> Iterator[str]:
    """What can no longer be read: lists, figures and pages of all that there is."""
    for key in (key for key in READING if not ROUTES[key].is_detail):
        path, query, _body = _first_asked(key, world)
        answer = ask("get", path, query)
        if answer.status_code >= 500:
            yield f"{key}: {answer.status_code}"


def _first_asked(key: str, world: World) -> tuple[str, dict[str, Any], dict[str, Any]]:
    return next(knocks(ROUTES[key], ENDPOINTS[key], world)).asked(world)
