"""Health tells the truth: nothing is served without a database, everything without a broker."""

import pytest
from django.db import InterfaceError, OperationalError, connection
from kombu import Connection

from coop.celery import app
from coop.jobs import health

NOBODY_LISTENS = "redis://127.0.0.1:1/0"


@pytest.mark.parametrize("error", [OperationalError("gone"), InterfaceError("closed")])
def test_without_its_database_it_is_alive_and_not_ready(client, db, monkeypatch, error):
    def gone(*_arguments):
        raise error

    with monkeypatch.context() as away:
        away.setattr(connection, "cursor", gone)
        answer = client.get("/health/ready/")

    assert (answer.status_code, answer.json()["status"]) == (503, "not ready")
    assert answer.json()["database"] == "does not answer"
    assert client.get("/health/live/").status_code == 200


def test_without_its_broker_it_is_degraded_and_serves_all_the_same(
    client, db, monkeypatch, settings
):
    settings.REDIS_URL = NOBODY_LISTENS
    monkeypatch.setattr(app, "connection_for_write", lambda: Connection(NOBODY_LISTENS))
    answer = client.get("/health/ready/")

    assert (answer.status_code, answer.json()["status"]) == (200, "degraded")
    assert answer.json()["broker"] == "does not answer"


def test_with_a_local_runner_it_is_ready(client, db, monkeypatch):
    monkeypatch.setattr(health.bell, "has_broker", lambda: False)

    assert client.get("/health/ready/").json()["status"] == "ready"
