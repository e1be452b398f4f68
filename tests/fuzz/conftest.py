"""The world of every endpoint, for requests nobody thought of, and how many there were."""

from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest
from django.core import signals
from django.db import close_old_connections

from tests.coop.access.conftest import clients, world

__all__ = ["clients", "world"]

ANSWERED = "fuzz_answered"


@pytest.fixture(autouse=True)
def _requests_leave_the_connection_of_the_test_open() -> Iterator[None]:
    """As with Django's own test client: the world lives in that connection's transaction."""
    both = (signals.request_started, signals.request_finished)
    for signal in both:
        signal.disconnect(close_old_connections)
    yield
    for signal in both:
        signal.connect(close_old_connections)


@pytest.fixture
def answered(request: pytest.FixtureRequest) -> Iterator[Counter[int]]:
    """For the test to count its answers in, by status; the run's summary adds them up."""
    statuses: Counter[int] = Counter()
    yield statuses
    # The report of the call is made by now; that of the teardown carries what is added here.
    request.node.user_properties.append((ANSWERED, dict(statuses)))


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """``fuzz: N requests: …``, over all processes of the run."""
    total: Counter[str] = Counter()
    for reports in terminalreporter.stats.values():
        for report in reports:
            if getattr(report, "when", "") == "teardown":
                for name, statuses in report.user_properties:
                    if name == ANSWERED:
                        total.update({str(status): n for status, n in statuses.items()})
    if total:
        told = ", ".join(f"{total[status]} answered {status}" for status in sorted(total))
        terminalreporter.write_line(f"fuzz: {sum(total.values())} requests: {told}")
