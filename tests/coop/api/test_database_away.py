"""A database that is away and a disk that is full are 503 wherever they are met."""

import errno
import sqlite3

import psycopg
import pytest
from django.db import InterfaceError, OperationalError
from django.test import Client

from coop.api import idempotency, problems, views

AWAY = [
    OperationalError("terminating connection due to administrator command"),
    OperationalError("could not read block 5 in file"),
    InterfaceError("connection already closed"),
]


def of_the_database(cause):
    error = OperationalError(*cause.args)
    error.__cause__ = cause
    return error


def sqlite_says(code):
    error = sqlite3.OperationalError("database or disk is full")
    error.sqlite_errorcode = code
    return of_the_database(error)


FULL = [
    of_the_database(psycopg.errors.DiskFull("could not extend file: No space left on device")),
    sqlite_says(sqlite3.SQLITE_FULL),
    OSError(errno.ENOSPC, "No space left on device"),
    OSError(errno.EDQUOT, "Disk quota exceeded"),
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


@pytest.mark.parametrize("error", FULL)
def test_a_full_disk_is_named(caller, monkeypatch, error):
    def full(*_arguments, **_named):
        raise error

    monkeypatch.setattr(views.ActorViewSet, "find", full)
    in_a_view = caller.get("/api/v1/stands/0197a2b4-0000-7000-8000-000000000000/")
    monkeypatch.setattr(idempotency.IdempotentAnswer.objects, "create", full)
    before_it = caller.post("/api/v1/sits/", {}, headers={"Idempotency-Key": "k"})

    for answer in (in_a_view, before_it):
        assert (answer.status_code, answer["Content-Type"]) == (503, "application/problem+json")
        assert (answer.json()["code"], answer["Retry-After"]) == ("no_room", "60")


@pytest.mark.parametrize(("free_bytes", "code"), [(0, "no_room"), (10**9, "busy")])
def test_sqlite_that_cannot_write_its_log_says_so_where_the_disk_is_full(
    caller, monkeypatch, free_bytes, code
):
    def failing(*_arguments, **_named):
        raise sqlite_says(sqlite3.SQLITE_IOERR_SHMSIZE)

    monkeypatch.setattr(problems, "_free_bytes", lambda: free_bytes)
    monkeypatch.setattr(views.ActorViewSet, "find", failing)
    answer = caller.get("/api/v1/stands/0197a2b4-0000-7000-8000-000000000000/")

    assert (answer.status_code, answer.json()["code"]) == (503, code)


def test_a_file_that_is_away_is_no_full_disk(caller, monkeypatch):
    def away(*_arguments, **_named):
        raise FileNotFoundError(errno.ENOENT, "No such file or directory")

    monkeypatch.setattr(views.ActorViewSet, "find", away)
    answer = caller.get("/api/v1/stands/0197a2b4-0000-7000-8000-000000000000/")

    assert answer.status_code == 500


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
