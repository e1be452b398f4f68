"""A job that counts how often it ran."""

import pytest

from coop.jobs import registry


@pytest.fixture
def counting(monkeypatch):
    """A registered job that remembers the parameters of each time it ran."""
    ran = []

    def handler(job):
        ran.append(dict(job.parameters))
        job.report(50, "half way")
        return {"ran": len(ran)}

    monkeypatch.setitem(registry._handlers, "test.count", handler)
    return ran
