"""A real Celery worker on the test database and a real broker."""

import os
import subprocess
import sys
import time
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from coop.celery import app
from coop.jobs import bell

READY_WITHIN_S = 120


def database_url_of_the_test_database() -> str:
    values = connection.settings_dict
    place = f"{values['HOST'] or '127.0.0.1'}:{values['PORT'] or 5432}"
    credential = f"{values['USER']}:{values['PASSWORD']}".rstrip(":")
    return f"postgres://{credential}@{place}/{values['NAME']}"


@pytest.fixture
def worker(transactional_db: None, tmp_path: Path) -> Iterator[subprocess.Popen[bytes]]:
    """A worker process that answers over the broker; killed at the end of the test."""
    if not bell.has_broker() or connection.vendor != "postgresql":
        pytest.skip("needs PostgreSQL and Redis: .ci/run sets both")
    queue = settings.CELERY_TASK_DEFAULT_QUEUE
    name = f"{queue}@worker-{uuid.uuid4().hex}"
    environment = {
        **os.environ,
        "COOP_DATABASE_URL": database_url_of_the_test_database(),
        "COOP_QUEUE": queue,
    }
    log = tmp_path / "worker.log"
    process = subprocess.Popen(
        [
            *(sys.executable, "-m", "celery", "-A", "coop.celery", "worker"),
            *("-n", name, "-l", "INFO", "-c", "1", "--without-mingle", "--without-gossip"),
        ],
        env=environment,
        stdout=log.open("wb"),
        stderr=subprocess.STDOUT,
        cwd=settings.BASE_DIR,
    )
    deadline = time.monotonic() + READY_WITHIN_S
    while not app.control.ping(destination=[name], timeout=1):
        assert time.monotonic() < deadline, log.read_text()
        assert process.poll() is None, log.read_text()
    yield process
    process.kill()
    process.wait()


@pytest.fixture
def until() -> Callable[[Callable[[], bool]], None]:
    """Wait until something in the database is true; another process makes it so."""

    def wait(true: Callable[[], bool], within_s: float = 180) -> None:
        deadline = time.monotonic() + within_s
        while not true():
            assert time.monotonic() < deadline, "it did not happen in time"
            time.sleep(0.05)

    return wait
