"""A real Celery worker on the test database and a real broker."""

import contextlib
import os
import signal
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
from coop.jobs.lanes import urgent_queue

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
    # Bells of the tests before would only be answered first.
    app.control.purge()
    process = start_worker(tmp_path)
    yield process
    kill_at_once(process)


@pytest.fixture
def urgent_worker(
    worker: subprocess.Popen[bytes], tmp_path: Path
) -> Iterator[subprocess.Popen[bytes]]:
    """A second worker, which hears urgent bells and no others."""
    process = start_worker(tmp_path, "-Q", urgent_queue(settings.CELERY_TASK_DEFAULT_QUEUE))
    yield process
    kill_at_once(process)


def start_worker(folder: Path, *options: str) -> subprocess.Popen[bytes]:
    """A worker of one child that has said that it is ready; it hears both queues by default."""
    queue = settings.CELERY_TASK_DEFAULT_QUEUE
    name = f"{queue}@worker-{uuid.uuid4().hex}"
    environment = {
        **os.environ,
        "COOP_DATABASE_URL": database_url_of_the_test_database(),
        "COOP_QUEUE": queue,
    }
    log = folder / f"{name}.log"
    process = subprocess.Popen(
        [
            *(sys.executable, "-m", "celery", "-A", "coop.celery", "worker", *options),
            *("-n", name, "-l", "INFO", "-c", "1", "--without-mingle", "--without-gossip"),
        ],
        env=environment,
        stdout=log.open("wb"),
        stderr=subprocess.STDOUT,
        cwd=settings.BASE_DIR,
        start_new_session=True,
    )
    deadline = time.monotonic() + READY_WITHIN_S
    while not app.control.ping(destination=[name], timeout=1):
        assert time.monotonic() < deadline, log.read_text()
        assert process.poll() is None, log.read_text()
    return process


def kill_at_once(worker: subprocess.Popen[bytes]) -> None:
    """The worker and the child that does its work: left alone, the child would end what it is
    at, and take the facts of the next test with it.
    """
    with contextlib.suppress(ProcessLookupError):
        os.killpg(worker.pid, signal.SIGKILL)
    worker.wait()


@pytest.fixture
def until() -> Callable[[Callable[[], bool]], None]:
    """Wait until something in the database is true; another process makes it so."""

    def wait(true: Callable[[], bool], within_s: float = 180) -> None:
        deadline = time.monotonic() + within_s
        while not true():
            assert time.monotonic() < deadline, "it did not happen in time"
            time.sleep(0.05)

    return wait
