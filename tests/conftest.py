"""Fixtures that every test may use."""

import os
from collections.abc import Iterator

import pytest
from django.conf import settings
from django.db import connection
from hypothesis import HealthCheck
from hypothesis import settings as hypothesis_settings

from coop.audit import guards as audit
from coop.jobs.lanes import queues
from properties.incidents import guards as evidence
from tests.cast import Cast, make_cast


@pytest.fixture(scope="session", autouse=True)
def _the_flush_between_tests_passes_the_guards() -> Iterator[None]:
    """SQLite flushes by DELETE, which the triggers of what is only added to rightly refuse."""
    flush = connection.ops.sql_flush
    guarded = {audit.TABLE: audit, **dict.fromkeys(evidence.TABLES, evidence)}

    def flush_past_the_guards(style, tables, **options):
        statements = flush(style, tables, **options)
        if connection.vendor != "sqlite":
            return statements
        met = [one for one in (audit, evidence) if one in map(guarded.get, tables)]
        return [
            *(statement for one in met for statement in one.REMOVE["sqlite"]),
            *statements,
            *(statement for one in met for statement in one.INSTALL["sqlite"]),
        ]

    connection.ops.sql_flush = flush_past_the_guards
    yield
    connection.ops.sql_flush = flush


def pytest_configure(config: pytest.Config) -> None:
    """Hash passwords cheaply: the tests make many accounts, and no test is about hashing."""
    # How fast examples come depends on the machine; no test asserts a time. The suite draws the
    # same examples each time, so that a change is judged by what it changed; make draws looks on.
    same = hypothesis_settings(
        deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True, database=None
    )
    hypothesis_settings.register_profile("same_draws", same)
    hypothesis_settings.register_profile("new_draws", same, derandomize=False)
    if config.getoption("--hypothesis-profile") is None:
        hypothesis_settings.load_profile("same_draws")
    # A worker of one process's tests must not take the messages of another's.
    process = os.environ.get("PYTEST_XDIST_WORKER", "alone")
    settings.CELERY_TASK_DEFAULT_QUEUE = f"coop-test-{process}"
    settings.CELERY_TASK_QUEUES = queues(settings.CELERY_TASK_DEFAULT_QUEUE)
    # Nor may one process's tests take away a file that another's just wrote under its name.
    settings.MEDIA_ROOT = settings.VAR_DIR / "media-of-tests" / process
    # Tests ask more in a minute than any caller; those about limits set their own.
    settings.RATE_LIMITS = dict.fromkeys(settings.RATE_LIMITS, 10**9)
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.VAR_DIR.joinpath("static").mkdir(exist_ok=True)


@pytest.fixture
def cast(db: None) -> Cast:
    """Two properties of one cooperative, one of another, and somebody in each role."""
    return make_cast()
