"""Whoever lacks a scope is told which; whoever lacks a role is told that."""

import pytest

from tests.scheduling.sits.stage import DAY, make_stage

SCOPE = "This needs the scope {}: ask for a token that has it."
ROLE = "Your role does not allow this."


def detail_of(answer):
    assert (answer.status_code, answer.json()["code"]) == (403, "not_allowed"), answer.content
    return answer.json()["detail"]


def test_a_booking_without_the_scope_of_sits_names_it(cast):
    stage = make_stage(cast)
    body = {
        "stand": str(stage.oak.id),
        "local_date": DAY.isoformat(),
        "span": "evening",
        "client": {
            "reference": "C-17",
            "name": "Ada Long",
            "emergency_contact_name": "Bo Long",
            "emergency_contact_phone": "555-0199",
        },
    }

    answer = cast.application_client("offers").post("/api/v1/sits/", body)

    assert detail_of(answer) == SCOPE.format("sits")


@pytest.mark.parametrize("scope", ["sits", "webhooks"])
def test_a_question_without_the_scope_of_offers_names_it(cast, scope):
    answer = cast.application_client(scope).get("/api/v1/house-rules/")

    assert detail_of(answer) == SCOPE.format("offers")


def test_what_no_scope_gives_is_refused_by_the_role(cast):
    answer = cast.application_client("offers sits webhooks").get("/api/v1/settings/")

    assert detail_of(answer) == ROLE


def test_a_persons_refusal_names_no_scope(cast):
    answer = cast.client(cast.member).post(
        "/api/v1/closures/",
        {
            "property": str(cast.north.id),
            "first_on": "2025-11-08",
            "last_on": "2025-11-09",
            "reason": "Logging.",
        },
    )

    assert detail_of(answer) == ROLE
