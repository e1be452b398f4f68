"""The world of every endpoint, for requests nobody thought of."""

from collections.abc import Iterator

import pytest
from django.core import signals
from django.db import close_old_connections

from tests.coop.access.conftest import clients, world

__all__ = ["clients", "world"]


@pytest.fixture(autouse=True)
def _requests_leave_the_connection_of_the_test_open() -> Iterator[None]:
    """As with Django's own test client: the world lives in that connection's transaction."""
    both = (signals.request_started, signals.request_finished)
    for signal in both:
        signal.disconnect(close_old_connections)
    yield
    for signal in both:
        signal.connect(close_old_connections)
