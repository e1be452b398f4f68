"""Log lines tell request, job and actor, and neither secrets nor positions."""

import json
import logging

import pytest
from django.utils import timezone
from pythonjsonlogger.json import JsonFormatter
from rest_framework.test import APIClient

from coop.access.services import issue_token
from coop.jobs import registry, services
from coop.telemetry import context
from coop.telemetry.logs import JSON_FIELDS, WithIdentity, logging_settings


@pytest.fixture
def lines():
    """Log records from INFO up, as the JSON a collector would read."""

    class Kept(logging.Handler):
        def __init__(self) -> None:
            super().__init__(logging.INFO)
            self.texts: list[str] = []
            self.addFilter(WithIdentity())
            self.setFormatter(JsonFormatter(JSON_FIELDS))

        def emit(self, record: logging.LogRecord) -> None:
            self.texts.append(self.format(record))

    kept, root = Kept(), logging.getLogger()
    level = root.level
    framework = logging.getLogger("django.request")
    root.addHandler(kept)
    root.setLevel(logging.INFO)
    framework.setLevel(logging.INFO)
    yield kept.texts
    root.removeHandler(kept)
    root.setLevel(level)
    framework.setLevel(logging.ERROR)


def requests_in(lines: list[str]) -> list[dict]:
    return [line for line in map(json.loads, lines) if line["name"] == "coop.requests"]


def test_a_request_leaves_one_line_with_its_route_status_id_and_actor(cast, lines):
    client = APIClient()
    _, text = issue_token(user=cast.manager.user, name="t", days=1, now=timezone.now())
    client.credentials(HTTP_AUTHORIZATION=f"Token {text}")

    answer = client.get(f"/api/v1/properties/{cast.north.id}/")

    (line,) = requests_in(lines)
    assert line["status"] == 200
    assert line["route"] == "api/v1/properties/(?P<pk>[0-9a-fA-F-]{32,36})/$"
    assert line["request_id"] == answer["X-Request-ID"]
    assert line["actor"] == f"person:{cast.manager.user_id}"
    assert line["duration_ms"] > 0


def test_no_line_holds_a_token_a_password_a_query_or_a_position(cast, lines):
    client = APIClient()
    _, text = issue_token(user=cast.manager.user, name="t", days=1, now=timezone.now())
    client.credentials(HTTP_AUTHORIZATION=f"Token {text}")
    client.get("/api/v1/stands/?near=-83.12345,41.54321")
    client.post("/api/v1/sign-in/", {"email": "who@example.org", "password": "not-told-to-logs"})
    client.get("/calendars/a-secret-address.ics")

    assert len(requests_in(lines)) == 3
    assert any(line["name"] == "django.request" for line in map(json.loads, lines))
    written = "\n".join(lines)
    for secret in (text, "not-told-to-logs", "83.12345", "a-secret-address", "who@example.org"):
        assert secret not in written


def test_a_line_written_in_a_job_tells_the_run(db, lines, monkeypatch):
    def handler(job):
        logging.getLogger("somewhere").info("at work")
        return {}

    monkeypatch.setitem(registry._handlers, "test.telling", handler)
    run = services.enqueue(name="test.telling", now=timezone.now())
    services.run_job(run_id=run.id, now=timezone.now())

    (line,) = (line for line in map(json.loads, lines) if line["name"] == "somewhere")
    assert line["job_id"] == str(run.id)
    assert context.job_id.get() == ""


def test_a_log_format_nobody_knows_is_refused_by_name():
    with pytest.raises(ValueError, match="COOP_LOG_FORMAT"):
        logging_settings(level="INFO", form="yaml")


@pytest.mark.parametrize("name", ["weasyprint", "fontTools.subset"])
def test_a_printer_of_papers_logs_its_errors_and_none_of_its_advice(name):
    logger = logging.getLogger(name)

    assert logger.isEnabledFor(logging.ERROR)
    assert not logger.isEnabledFor(logging.WARNING)
    assert logging.getLogger("coop").isEnabledFor(logging.WARNING)
