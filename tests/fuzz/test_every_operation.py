"""Requests drawn from the description itself, as several callers, with ids of every property.

The suite asks each operation once, as a coordinator. ``make fuzz`` asks as everybody, and says
with ``FUZZ_EXAMPLES`` how often: more than ten thousand requests.
"""

import os
import re

import pytest
import schemathesis
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from coop.wsgi import application
from tests.coop.access.places import PLACES, World

pytestmark = pytest.mark.django_db
EXAMPLES = int(os.environ.get("FUZZ_EXAMPLES", "1"))
EVERYBODY = ("coordinator", "member", "landowner", "application", "stranger")
CALLERS = EVERYBODY if "FUZZ_EXAMPLES" in os.environ else EVERYBODY[:1]
CHECKS = (
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
)
_known_ids: list[str] = []

schemathesis.openapi.format(
    "uuid", st.one_of(st.uuids().map(str), st.deferred(lambda: st.sampled_from(_known_ids)))
)
description = schemathesis.openapi.from_dict(
    SchemaGenerator().get_schema(request=None, public=True)
)
description.app = application
OPERATIONS = {
    f"{found.ok().method.upper()} {found.ok().path}": found.ok()
    for found in description.get_all_operations()
}


@pytest.fixture(scope="module")
def marks_of_others(world: World) -> dict[str, re.Pattern[str]]:
    """For each caller, what stands only in objects that are not theirs to see."""
    _known_ids[:] = sorted({id_ for place in PLACES for id_ in world.ids[place].values()})
    hidden = {"coordinator": "Foreign", "stranger": "North|South"}
    return {
        caller: re.compile(rf"\w+mark({hidden.get(caller, 'South|Foreign')})") for caller in CALLERS
    }


@pytest.mark.parametrize("caller", CALLERS)
@pytest.mark.parametrize("key", sorted(OPERATIONS))
def test_an_operation_answers_as_described_and_tells_nothing_of_others(
    key, caller, clients, marks_of_others, answered
):
    operation = OPERATIONS[key]
    credential = clients[caller]._credentials["HTTP_AUTHORIZATION"]

    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy())
    def ask(case):
        answer = case.call(headers={"Authorization": credential})
        answered[answer.status_code] += 1
        # Whoever asks for some members gets no others, also where the description wants them.
        checks = CHECKS[:-1] if "fields" in (case.query or {}) else CHECKS
        case.validate_response(answer, checks=checks)
        leaked = marks_of_others[caller].search(answer.text)
        assert leaked is None, (case.as_curl_command(), leaked)

    ask()
