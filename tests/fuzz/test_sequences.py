"""Sequences of requests: what one answer tells is asked about in the next, as several callers.

Steps follow each other where the description lets one answer fill another's parameters. The suite
walks a few short ways as a coordinator, ``make fuzz`` many longer ones as everybody.
"""

import os

import pytest
from django.core.cache import cache
from django.db import transaction
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.fuzz.test_every_operation import (
    CALLERS,
    CHECKS,
    EXAMPLES,
    description,
    marks_of_others,
)

__all__ = ["marks_of_others"]

pytestmark = pytest.mark.django_db
LONG = "FUZZ_EXAMPLES" in os.environ
WAYS = 3 * EXAMPLES
STEPS = 25 if LONG else 6


@pytest.mark.parametrize("caller", CALLERS)
def test_no_sequence_of_requests_breaks_the_description_or_tells_of_others(
    caller, clients, marks_of_others, answered
):
    credential = clients[caller]._credentials["HTTP_AUTHORIZATION"]
    told, followed = "", 0

    class Way(description.as_state_machine()):
        def setup(self):
            # Each way begins in the same world: what is drawn may hang on what is there.
            cache.clear()
            self.beginning = transaction.savepoint()

        def teardown(self):
            transaction.savepoint_rollback(self.beginning)

        def before_call(self, case):
            case.headers["Authorization"] = credential

        def validate_response(self, response, case, additional_checks=(), **_more):
            nonlocal told, followed
            answered[response.status_code] += 1
            named = [*(case.path_parameters or {}).values(), *(case.query or {}).values()]
            followed += any(len(str(each)) > 30 and str(each) in told for each in named)
            told += response.text
            checks = CHECKS[:-1] if "fields" in (case.query or {}) else CHECKS
            case.validate_response(response, checks=checks)
            leaked = marks_of_others[caller].search(response.text)
            assert leaked is None, (case.as_curl_command(), leaked)

    run_state_machine_as_test(
        Way,
        settings=settings(
            max_examples=WAYS,
            stateful_step_count=STEPS,
            deadline=None,
            database=None,
            derandomize=True,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        ),
    )

    assert answered
    if LONG:
        assert any(status < 300 for status in answered)
        # Others are told of little enough that thirty ways may name none of it.
        assert followed or caller != CALLERS[0], "no request named what an earlier answer told"
