"""Asking for offers, and what a server that keeps nothing would say at that moment."""

from datetime import timedelta
from typing import Any

from django.db import connection
from django.test import override_settings
from django.test.utils import CaptureQueriesContext

from tests.scheduling.sits.stage import DAY, Stage

OFFERS = "/api/v1/offers/"


def query_of(stage: Stage, **more: Any) -> dict[str, Any]:
    asked = {
        "property": stage.cast.north.id,
        "first_on": DAY - timedelta(days=1),
        "last_on": DAY + timedelta(days=3),
        **more,
    }
    return {name: value for name, value in asked.items() if value is not None}


def ask(client: Any, stage: Stage, **more: Any) -> Any:
    """The answer; 200 or it fails."""
    answer = client.get(OFFERS, query_of(stage, **more))
    assert answer.status_code == 200, answer.content
    return answer


def anew(client: Any, stage: Stage, **more: Any) -> bytes:
    """The body as it is judged where nothing is kept, and nothing that was kept is given."""
    with override_settings(OFFERS_KEPT_SECONDS=0):
        body: bytes = ask(client, stage, **more).content
        return body


def is_judged(client: Any, stage: Stage, **more: Any) -> bool:
    """Whether an answer to this question reads the fits; one that is kept does not."""
    with CaptureQueriesContext(connection) as queries:
        ask(client, stage, **more)
    return any("properties_sessionfit" in one["sql"] for one in queries.captured_queries)
