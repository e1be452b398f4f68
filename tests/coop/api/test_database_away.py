"""A database that is away is 503 wherever it was lost, and other faults are not."""

import pytest
from django.db import InterfaceError, OperationalError
from django.test import Client

from coop.api import idempotency, views

AWAY = [
    OperationalError("terminating connection due to administrator command"),
    OperationalError("could not read block 5 in file"),
    InterfaceError("connection already closed"),
]


@pytest.fixture
def caller(cast):
    client = cast.client(cast.manager)
    client.raise_request_exception = False
    return client


def assert_busy(answer):
    assert (answer.status_code, answer["Content-Type"]) == (503, "application/problem+json")
    assert answer.json()["code"] == "busy"
    assert int(answer["Retry-After"]) > 0


@pytest.mark.parametrize("error", AWAY)
def test_in_a_view_of_the_api(caller, monkeypatch, error):
    def away(*_arguments, **_named):
        raise error

    monkeypatch.setattr(views.ActorViewSet, "find", away)
    assert_busy(caller.get("/api/v1/stands/0197a2b4-0000-7000-8000-000000000000/"))


@pytest.mark.parametrize("error", AWAY)
def test_before_the_view_while_a_key_is_kept(caller, monkeypatch, error):
    def away(*_arguments, **_named):
        raise error

    monkeypatch.setattr(idempotency.IdempotentAnswer.objects, "create", away)
    assert_busy(caller.post("/api/v1/sits/", {}, headers={"Idempotency-Key": "k"}))


def test_outside_the_api(db, monkeypatch):
    def away(*_arguments, **_named):
        raise AWAY[0]

    monkeypatch.setattr("django.db.models.query.QuerySet.get", away)
    client = Client(raise_request_exception=False)
    client.cookies["sessionid"] = "of-an-earlier-day"
    assert_busy(client.get("/admin/"))


def test_another_fault_is_a_problem_of_its_own(caller, monkeypatch):
    def broken(*_arguments, **_named):
        raise RuntimeError("a secret detail")

    monkeypatch.setattr(views.ActorViewSet, "find", broken)
    answer = caller.get("/api/v1/stands/0197a2b4-0000-7000-8000-000000000000/")

    assert (answer.status_code, answer.json()["code"]) == (500, "failed")
    assert "secret" not in answer.content.decode()
