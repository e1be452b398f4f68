"""Lists of references are bounded before anything is looked up."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coop.api.fields import MOST_REFERENCES, TOO_MANY
from tests.scheduling.sits.stage import DAY, make_stage

ID = "0193a1c2-0000-7000-8000-000000000001"


@pytest.mark.parametrize("path", ["sits/", "sit-requests/"])
def test_a_list_of_guests_without_end_costs_no_look_ups(cast, path):
    stage = make_stage(cast)
    body = {
        "sits/": {"stand": str(stage.oak.id), "local_date": str(DAY), "span": "evening"},
        "sit-requests/": {
            "property": str(cast.north.id),
            "first_on": str(DAY),
            "last_on": str(DAY),
            "wanted_sits": 1,
        },
    }[path]
    client = cast.client(cast.member)

    def asked(guests: int) -> tuple[dict, int]:
        with CaptureQueriesContext(connection) as queries:
            answer = client.post(f"/api/v1/{path}", {**body, "guests": [ID] * guests})
        assert answer.status_code == 400
        return answer.json()["errors"][0], len(queries)

    asked(1)
    error, few = asked(MOST_REFERENCES + 1)
    assert (error["pointer"], error["detail"]) == ("#/guests", TOO_MANY)
    assert asked(20 * MOST_REFERENCES) == (error, few)
