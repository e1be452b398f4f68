"""A real Celery worker on the test database and a real broker."""

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator

import pytest
from django.conf import settings
from django.db import connection

from coop.jobs import bell

READY_WITHIN_S = 60


def database_url_of_the_test_database() -> str:
    values = connection.settings_dict
    place = f"{values['HOST'] or '127.0.0.1'}:{values['PORT'] or 5432}"
    credential = f"{values['USER']}:{values['PASSWORD']}".rstrip(":")
    return f"postgres://{credential}@{place}/{values['NAME']}"


@pytest.fixture
def worker(transactional_db: None) -> Iterator[subprocess.Popen[str]]:
    """A worker process that has said it is ready; killed at the end of the test."""
    if not bell.has_broker() or connection.vendor != "postgresql":
        pytest.skip("needs PostgreSQL and Redis: .ci/run sets both")
    environment = {**os.environ, "COOP_DATABASE_URL": database_url_of_the_test_database()}
    process = subprocess.Popen(
        [sys.executable, "-m", "celery", "-A", "coop.celery", "worker", "-l", "INFO", "-c", "1"],
        env=environment,
        stderr=subprocess.PIPE,
        text=True,
        cwd=settings.BASE_DIR,
    )
    assert process.stderr is not None
    deadline = time.monotonic() + READY_WITHIN_S
    for line in process.stderr:
        if "ready." in line:
            break
        assert time.monotonic() < deadline, "the worker did not start"
    yield process
    process.kill()
    process.wait()


@pytest.fixture
def until() -> Callable[[Callable[[], bool]], None]:
    """Wait until something in the database is true; another process makes it so."""

    def wait(true: Callable[[], bool], within_s: float = 30) -> None:
        deadline = time.monotonic() + within_s
        while not true():
            assert time.monotonic() < deadline, "it did not happen in time"
            time.sleep(0.05)

    return wait
